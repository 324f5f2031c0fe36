-- A failure is taken back as a whole, with who did it and why, or not at all; and it keeps its row.
CREATE TRIGGER failure_taken_back_whole BEFORE UPDATE ON failure
WHEN new.id <> old.id OR (new.taken_back_at IS NULL) <> (new.taken_back_by IS NULL)
  OR (new.taken_back_at IS NULL) <> (new.taken_back_why IS NULL) BEGIN
  SELECT RAISE (ABORT, 'failure-unchanged: a failure is taken back with who did it and why');
END;
