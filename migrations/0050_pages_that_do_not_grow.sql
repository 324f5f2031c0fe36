-- An index for a question that walked the fleet: gauges of one kind by tag number.
CREATE INDEX gauge_by_kind ON gauge (kind, tag);
