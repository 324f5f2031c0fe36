-- Who was asked to witness a test, and who says that they did not see it; and papers that are marked
-- copies. All are added to and never changed. Every RAISE text begins with a key that store/mod.rs translates into plain words.

CREATE TABLE witness_asked (
  id INTEGER PRIMARY KEY,
  test_id INTEGER NOT NULL REFERENCES pressure_test (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  asked_by INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX witness_asked_of ON witness_asked (test_id, id);
CREATE TRIGGER witness_asked_unchanged BEFORE UPDATE ON witness_asked BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: who was named as the witness is never changed; name another');
END;
CREATE TRIGGER witness_asked_kept BEFORE DELETE ON witness_asked BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: who was named as the witness is never forgotten');
END;
CREATE TRIGGER witness_asked_open BEFORE INSERT ON witness_asked
WHEN EXISTS (SELECT 1 FROM witness_asked WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM witnessing WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: this test was witnessed already');
END;
CREATE TRIGGER witness_asked_another BEFORE INSERT ON witness_asked
WHEN new.person_id = (SELECT person_id FROM pressure_test WHERE id = new.test_id)
  OR EXISTS (SELECT 1 FROM witness_declined WHERE test_id = new.test_id AND person_id = new.person_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: the witness is neither the tester nor somebody who did not see the test');
END;

CREATE TABLE witness_declined (
  id INTEGER PRIMARY KEY,
  test_id INTEGER NOT NULL REFERENCES pressure_test (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  reason TEXT NOT NULL CONSTRAINT declined_reason CHECK (length(trim(reason)) BETWEEN 3 AND 500),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX witness_declined_of ON witness_declined (test_id, id);
CREATE TRIGGER witness_declined_unchanged BEFORE UPDATE ON witness_declined BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: that somebody did not see a test is never changed');
END;
CREATE TRIGGER witness_declined_kept BEFORE DELETE ON witness_declined BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: that somebody did not see a test is never deleted');
END;
CREATE TRIGGER witness_declined_once BEFORE INSERT ON witness_declined
WHEN EXISTS (SELECT 1 FROM witness_declined WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM witness_declined WHERE test_id = new.test_id AND person_id = new.person_id)
  OR EXISTS (SELECT 1 FROM witnessing WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: this test was witnessed, or the same was said of it, already');
END;
CREATE TRIGGER witnessing_seen BEFORE INSERT ON witnessing
WHEN EXISTS (SELECT 1 FROM witness_declined WHERE test_id = new.test_id AND person_id = new.person_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: who said they did not see the test does not witness it');
END;

-- A copy that was marked as withdrawn or superseded before it was handed out; NULL: the paper as issued.
ALTER TABLE certificate_paper ADD COLUMN marked TEXT
  CONSTRAINT paper_marked CHECK (marked IS NULL OR marked IN ('withdrawn', 'superseded'));
