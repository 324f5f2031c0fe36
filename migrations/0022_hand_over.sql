-- A rebuild handed from one person to another, as between shifts: who to whom, with what to know, and
-- when the other took it over.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

CREATE TABLE hand_over (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  to_id INTEGER NOT NULL REFERENCES person (id),
  note TEXT NOT NULL CONSTRAINT hand_over_note CHECK (length(trim(note)) BETWEEN 3 AND 2000),
  at TEXT NOT NULL,
  taken_at TEXT,
  CONSTRAINT hand_over_to_another CHECK (to_id <> person_id)
) STRICT;
CREATE INDEX hand_over_rebuild ON hand_over (rebuild_id, id);
CREATE TRIGGER hand_over_open BEFORE INSERT ON hand_over
WHEN (SELECT state FROM rebuild WHERE id = new.rebuild_id) IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: a finished rebuild is not handed over');
END;
-- Taking over is written once; nothing else of it ever changes.
CREATE TRIGGER hand_over_unchanged BEFORE UPDATE ON hand_over
WHEN old.taken_at IS NOT NULL OR new.id <> old.id OR new.rebuild_id <> old.rebuild_id OR new.person_id <> old.person_id
  OR new.to_id <> old.to_id OR new.note <> old.note OR new.at <> old.at BEGIN
  SELECT RAISE (ABORT, 'hand-over-unchanged: a hand-over is never changed; hand over again');
END;
CREATE TRIGGER hand_over_kept BEFORE DELETE ON hand_over BEGIN
  SELECT RAISE (ABORT, 'hand-over-unchanged: a hand-over is never deleted');
END;
