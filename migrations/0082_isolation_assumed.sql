-- The gauges of which it is only assumed how they are isolated: the list somebody works through once a plant's
-- list came in. Few or none of a register, so the index holds those alone.
CREATE INDEX gauge_isolation_assumed ON gauge (tag) WHERE instr(assumed, 'isolation') > 0;
