-- A test entered from paper was made by one person and entered by another; neither is its witness.
DROP TRIGGER witnessing_by_another;
CREATE TRIGGER witnessing_by_another BEFORE INSERT ON witnessing
WHEN EXISTS (SELECT 1 FROM pressure_test WHERE id = new.test_id AND new.person_id IN (person_id, done_by)) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: the witness is another person than the tester');
END;
DROP TRIGGER witness_asked_another;
CREATE TRIGGER witness_asked_another BEFORE INSERT ON witness_asked
WHEN EXISTS (SELECT 1 FROM pressure_test WHERE id = new.test_id AND new.person_id IN (person_id, done_by))
  OR EXISTS (SELECT 1 FROM witness_declined WHERE test_id = new.test_id AND person_id = new.person_id) BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: the witness is neither the tester nor somebody who did not see the test');
END;
