-- Another day for a rebuild that is planned and not begun, as when its shutdown window is moved: which day it
-- was planned for, which it is planned for now, who said so and why. The day that counts stays in `rebuild`.

CREATE TABLE rebuild_day (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  -- The day the rebuild has, so by `rebuild_day_open` a date.
  was_for TEXT NOT NULL,
  planned_for TEXT NOT NULL CONSTRAINT rebuild_day_for CHECK (planned_for GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  reason TEXT NOT NULL CONSTRAINT rebuild_day_reason CHECK (length(trim(reason)) BETWEEN 1 AND 400),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT rebuild_day_another CHECK (planned_for <> was_for)
) STRICT;
CREATE INDEX rebuild_day_rebuild ON rebuild_day (rebuild_id, id);
CREATE TRIGGER rebuild_day_open BEFORE INSERT ON rebuild_day
WHEN NOT EXISTS (
  SELECT 1 FROM rebuild r WHERE r.id = new.rebuild_id AND r.state IN ('planned', 'ready') AND r.planned_for = new.was_for
) BEGIN
  SELECT RAISE (ABORT, 'rebuild-day: only a rebuild that is not begun is given another day than it has');
END;
CREATE TRIGGER rebuild_day_unchanged BEFORE UPDATE ON rebuild_day BEGIN
  SELECT RAISE (ABORT, 'rebuild-day: what was said of another day is never changed; give another day again');
END;
CREATE TRIGGER rebuild_day_kept BEFORE DELETE ON rebuild_day BEGIN
  SELECT RAISE (ABORT, 'rebuild-day: what was said of another day is never deleted');
END;
CREATE TRIGGER rebuild_day_said AFTER UPDATE OF planned_for ON rebuild WHEN new.planned_for <> old.planned_for AND (old.state NOT IN ('planned', 'ready') OR NOT EXISTS (
  SELECT 1 FROM rebuild_day d
  WHERE d.id = (SELECT max(l.id) FROM rebuild_day l WHERE l.rebuild_id = new.id) AND d.was_for = old.planned_for AND d.planned_for = new.planned_for
)) BEGIN
  SELECT RAISE (ABORT, 'rebuild-day: a rebuild that is not begun is given another day with the reason');
END;
