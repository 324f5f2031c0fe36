-- The bench: who moved a rebuild from state to state and why, why an entry was corrected, and the
-- last nets under the rules of the order of work.

CREATE TABLE rebuild_move (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  from_state TEXT NOT NULL CONSTRAINT move_from CHECK (from_state IN ('planned', 'ready', 'at-the-bench', 'on-test')),
  to_state TEXT NOT NULL CONSTRAINT move_to CHECK (to_state IN ('planned', 'ready', 'at-the-bench', 'on-test', 'returned', 'abandoned')),
  at TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  reason TEXT NOT NULL DEFAULT '',
  rework TEXT CONSTRAINT move_rework CHECK (rework IN ('nothing', 'tighten', 'open')),
  section INTEGER CONSTRAINT move_section CHECK (section BETWEEN 1 AND 12),
  -- The last bench entry and the last pressure test made before the move: what counts afterwards
  -- has a higher number.
  after_entry INTEGER NOT NULL CONSTRAINT move_after_entry CHECK (after_entry >= 0),
  after_test INTEGER NOT NULL CONSTRAINT move_after_test CHECK (after_test >= 0),
  CONSTRAINT move_reasoned CHECK ((rework IS NULL AND to_state <> 'abandoned') OR length(trim(reason)) > 0)
) STRICT;
CREATE INDEX rebuild_move_rebuild ON rebuild_move (rebuild_id, id);
CREATE TRIGGER rebuild_move_open BEFORE INSERT ON rebuild_move
WHEN (SELECT state FROM rebuild WHERE id = new.rebuild_id) IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: a finished rebuild is evidence and is not changed');
END;
CREATE TRIGGER rebuild_move_unchanged BEFORE UPDATE ON rebuild_move BEGIN
  SELECT RAISE (ABORT, 'move-unchanged: a step from state to state is never changed');
END;
CREATE TRIGGER rebuild_move_kept BEFORE DELETE ON rebuild_move BEGIN
  SELECT RAISE (ABORT, 'move-unchanged: a step from state to state is never deleted');
END;

ALTER TABLE bench_entry ADD COLUMN correction_reason TEXT;
CREATE TRIGGER bench_entry_own BEFORE INSERT ON bench_entry
WHEN new.supersedes IS NOT NULL AND NOT EXISTS (
  SELECT 1 FROM bench_entry earlier
  WHERE earlier.id = new.supersedes AND earlier.rebuild_id = new.rebuild_id AND earlier.topic = new.topic
) BEGIN
  SELECT RAISE (ABORT, 'entry-unchanged: a correction replaces an entry of the same step and rebuild');
END;

CREATE TRIGGER rebuild_proved BEFORE UPDATE ON rebuild
WHEN new.state = 'returned'
  AND (SELECT result FROM pressure_test WHERE rebuild_id = new.id ORDER BY id DESC LIMIT 1) IS NOT 'passed' BEGIN
  SELECT RAISE (ABORT, 'rebuild-unproved: a gauge is returned after it has passed its pressure test');
END;

CREATE TRIGGER stock_line_open BEFORE INSERT ON stock_line
WHEN new.kind = 'issue' AND (SELECT state FROM rebuild WHERE id = new.rebuild_id) IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: nothing is issued to a finished rebuild');
END;
