-- Pressure tests and certificates: numbers without a gap, what waits for a signature, and lists
-- that stay cheap however many tests there are.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

-- The year and the place in it that make the number. The prefix is the plant's and may change; the
-- count goes on. NULLs are for rows older than this file; a new row cannot leave them out.
ALTER TABLE pressure_test ADD COLUMN year INTEGER;
ALTER TABLE pressure_test ADD COLUMN ordinal INTEGER;
ALTER TABLE certificate ADD COLUMN year INTEGER;
ALTER TABLE certificate ADD COLUMN ordinal INTEGER;
CREATE UNIQUE INDEX pressure_test_in_year ON pressure_test (year, ordinal);
CREATE UNIQUE INDEX certificate_in_year ON certificate (year, ordinal);

-- A number left out or used twice is refused. Looking for the row itself closes the way around the
-- triggers on UPDATE and DELETE: INSERT OR REPLACE deletes without asking them.
CREATE TRIGGER pressure_test_in_turn BEFORE INSERT ON pressure_test
WHEN new.year IS NULL
  OR new.ordinal IS NOT 1 + coalesce((SELECT max(ordinal) FROM pressure_test WHERE year = new.year), 0) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: pressure tests are numbered one after the other');
END;
CREATE TRIGGER pressure_test_once BEFORE INSERT ON pressure_test
WHEN EXISTS (SELECT 1 FROM pressure_test WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM pressure_test WHERE number = new.number) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: this test number was given meanwhile; try again');
END;
CREATE TRIGGER certificate_in_turn BEFORE INSERT ON certificate
WHEN new.year IS NULL
  OR new.ordinal IS NOT 1 + coalesce((SELECT max(ordinal) FROM certificate WHERE year = new.year), 0) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: certificates are numbered one after the other');
END;
CREATE TRIGGER certificate_once BEFORE INSERT ON certificate
WHEN EXISTS (SELECT 1 FROM certificate WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM certificate WHERE number = new.number) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: this certificate number was given meanwhile; try again');
END;
CREATE TRIGGER certificate_of_test_once BEFORE INSERT ON certificate
WHEN EXISTS (SELECT 1 FROM certificate WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: a certificate was issued from this test already');
END;
CREATE TRIGGER witnessing_once BEFORE INSERT ON witnessing
WHEN EXISTS (SELECT 1 FROM witnessing WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: this test was witnessed already');
END;
-- The last nets under rules that acts check first.
CREATE TRIGGER witnessing_by_another BEFORE INSERT ON witnessing
WHEN new.person_id = (SELECT person_id FROM pressure_test WHERE id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: the witness is another person than the tester');
END;
CREATE TRIGGER certificate_of_a_proof BEFORE INSERT ON certificate
WHEN (SELECT result FROM pressure_test WHERE id = new.test_id) IS NOT 'passed'
  OR NOT EXISTS (SELECT 1 FROM witnessing WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: only a test that was passed and witnessed is certified');
END;

-- What still waits for its witness or its certificate, kept by triggers: finding it among all
-- tests would cost more every year. A later test of the same gauge takes the place of an earlier.
CREATE TABLE test_waiting (
  test_id INTEGER PRIMARY KEY REFERENCES pressure_test (id),
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  what TEXT NOT NULL CONSTRAINT waiting_what CHECK (what IN ('witness', 'certificate'))
) STRICT;
CREATE INDEX test_waiting_what ON test_waiting (what, test_id);
CREATE INDEX test_waiting_gauge ON test_waiting (gauge_id);
CREATE TRIGGER pressure_test_waits AFTER INSERT ON pressure_test BEGIN
  DELETE FROM test_waiting
  WHERE gauge_id = new.gauge_id AND (SELECT tested_on FROM pressure_test WHERE id = test_id) <= new.tested_on;
  INSERT INTO test_waiting (test_id, gauge_id, what)
  SELECT new.id, new.gauge_id, 'witness' WHERE new.result = 'passed';
END;
CREATE TRIGGER witnessing_waits AFTER INSERT ON witnessing BEGIN
  UPDATE test_waiting SET what = 'certificate' WHERE test_id = new.test_id;
END;
CREATE TRIGGER certificate_waits AFTER INSERT ON certificate BEGIN
  DELETE FROM test_waiting WHERE test_id = new.test_id;
END;

CREATE INDEX pressure_test_day ON pressure_test (tested_on, id);
CREATE INDEX pressure_test_result ON pressure_test (result, tested_on, id);
CREATE INDEX pressure_test_instrument ON pressure_test (instrument_id, tested_on, id);
