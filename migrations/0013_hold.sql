-- The hold of a pressure test while it lasts: when it began by the server's clock and what was read,
-- so that neither a reload nor a tablet asleep nor a lost connection loses the time.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

CREATE TABLE hold (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  instrument_id INTEGER NOT NULL REFERENCES instrument (id),
  medium TEXT NOT NULL,
  began_at TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id)
) STRICT;
CREATE INDEX hold_rebuild ON hold (rebuild_id, id DESC);
CREATE TRIGGER hold_on_test BEFORE INSERT ON hold
WHEN (SELECT state FROM rebuild WHERE id = new.rebuild_id) IS NOT 'on-test' BEGIN
  SELECT RAISE (ABORT, 'hold-unchanged: a hold begins while the gauge is on test');
END;
CREATE TRIGGER hold_unchanged BEFORE UPDATE ON hold BEGIN
  SELECT RAISE (ABORT, 'hold-unchanged: a hold is never changed; begin another');
END;
CREATE TRIGGER hold_kept BEFORE DELETE ON hold BEGIN
  SELECT RAISE (ABORT, 'hold-unchanged: a hold is never deleted');
END;

CREATE TABLE hold_reading (
  id INTEGER PRIMARY KEY,
  hold_id INTEGER NOT NULL REFERENCES hold (id),
  at TEXT NOT NULL,
  pressure_value TEXT NOT NULL,
  pressure_unit TEXT NOT NULL,
  temperature_value TEXT,
  temperature_unit TEXT,
  person_id INTEGER NOT NULL REFERENCES person (id),
  CONSTRAINT hold_temperature_pair CHECK ((temperature_value IS NULL) = (temperature_unit IS NULL))
) STRICT;
CREATE INDEX hold_reading_hold ON hold_reading (hold_id, id);
CREATE TRIGGER hold_reading_unchanged BEFORE UPDATE ON hold_reading BEGIN
  SELECT RAISE (ABORT, 'hold-unchanged: a reading is never changed; read again');
END;
CREATE TRIGGER hold_reading_kept BEFORE DELETE ON hold_reading BEGIN
  SELECT RAISE (ABORT, 'hold-unchanged: a reading is never deleted');
END;
