-- How long gauges last: what a rebuild and a failure cost a service class, as somebody stated it, and
-- the index that finds what stripping found. Lives themselves are drawn from the history and not kept.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

CREATE TABLE class_cost (
  id INTEGER PRIMARY KEY,
  service_class_id INTEGER NOT NULL REFERENCES service_class (id),
  planned TEXT NOT NULL,
  failure TEXT NOT NULL,
  bench_hours TEXT,
  ground TEXT NOT NULL CONSTRAINT cost_ground CHECK (length(trim(ground)) BETWEEN 3 AND 500),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX class_cost_latest ON class_cost (service_class_id, id DESC);
CREATE TRIGGER class_cost_unchanged BEFORE UPDATE ON class_cost BEGIN
  SELECT RAISE (ABORT, 'cost-kept: costs are stated anew, never changed');
END;
CREATE TRIGGER class_cost_kept BEFORE DELETE ON class_cost BEGIN
  SELECT RAISE (ABORT, 'cost-kept: costs that were stated stay readable');
END;

CREATE INDEX bench_entry_stripped ON bench_entry (rebuild_id, id) WHERE topic = 'stripped';
