-- Indexes of questions that walked the fleet: days gauges fall due on, and gauges of one kind.
CREATE INDEX due_day_latest ON due_day (latest_on, area_id, gauges);
CREATE INDEX gauge_by_kind ON gauge (kind, tag);
