-- What the practice of a service class asks of the bench besides intervals: contents flushed before a
-- gauge is opened, and bolting tightened again after the first heat cycle.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

ALTER TABLE service_class ADD COLUMN re_torque_days INTEGER CONSTRAINT class_re_torque CHECK (re_torque_days BETWEEN 1 AND 365);
ALTER TABLE service_class ADD COLUMN flush INTEGER CONSTRAINT class_flush CHECK (flush IN (0, 1));

-- The day by which a returned gauge is tightened again, as the practice asked when it was returned: a
-- later change of the class neither asks for it nor lets it go.
ALTER TABLE rebuild ADD COLUMN re_torque_due_on TEXT
  CONSTRAINT rebuild_re_torque CHECK (re_torque_due_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');

CREATE TABLE re_torque (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  on_date TEXT NOT NULL CONSTRAINT re_torque_on CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  facts TEXT NOT NULL CONSTRAINT re_torque_facts CHECK (json_valid(facts)),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX re_torque_rebuild ON re_torque (rebuild_id, id);
CREATE INDEX re_torque_gauge ON re_torque (gauge_id, id);
CREATE TRIGGER re_torque_after_return BEFORE INSERT ON re_torque
WHEN NOT EXISTS (SELECT 1 FROM rebuild r WHERE r.id = new.rebuild_id AND r.gauge_id = new.gauge_id AND r.state = 'returned') BEGIN
  SELECT RAISE (ABORT, 're-torque-unchanged: bolting is tightened again after the gauge was returned');
END;
CREATE TRIGGER re_torque_unchanged BEFORE UPDATE ON re_torque BEGIN
  SELECT RAISE (ABORT, 're-torque-unchanged: a re-torque is evidence and is not changed');
END;
CREATE TRIGGER re_torque_kept BEFORE DELETE ON re_torque BEGIN
  SELECT RAISE (ABORT, 're-torque-unchanged: a re-torque is never deleted');
END;
