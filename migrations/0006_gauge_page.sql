-- What the gauge's page and the shutdown windows ask for: which window a due date was pulled to,
-- photographs that stay as taken, and the indexes their questions walk.

CREATE TRIGGER nameplate_photo_unchanged BEFORE UPDATE ON nameplate_photo BEGIN
  SELECT RAISE (ABORT, 'photo-unchanged: a photograph of a nameplate is evidence and is not changed');
END;
CREATE TRIGGER nameplate_photo_kept BEFORE DELETE ON nameplate_photo BEGIN
  SELECT RAISE (ABORT, 'photo-unchanged: a photograph of a nameplate is never deleted');
END;

-- rebuild_reason lets an abandoned rebuild without any reason pass, since a length of NULL is neither
-- true nor false; these two do not.
CREATE TRIGGER rebuild_reasoned BEFORE UPDATE ON rebuild WHEN new.state = 'abandoned' AND new.abandoned_reason IS NULL BEGIN
  SELECT RAISE (ABORT, 'rebuild-reason: a rebuild is abandoned with a reason');
END;
CREATE TRIGGER rebuild_begun_with_reason BEFORE INSERT ON rebuild WHEN new.state = 'abandoned' AND new.abandoned_reason IS NULL BEGIN
  SELECT RAISE (ABORT, 'rebuild-reason: a rebuild is abandoned with a reason');
END;

-- The last day of the window the gauge has to be done in; part of the projection.
ALTER TABLE due ADD COLUMN window_ends_on TEXT CONSTRAINT due_window CHECK (window_ends_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');

CREATE INDEX due_in_window ON due (area_id, window_ends_on, gauge_id) WHERE window_ends_on IS NOT NULL;
CREATE INDEX due_without_window ON due (area_id, latest_on, gauge_id) WHERE pull = 'no-window';
CREATE INDEX gauge_bound ON gauge (area_id, id) WHERE isolation = 'shutdown-only' AND standing = 'in-service';
CREATE INDEX shutdown_window_ends ON shutdown_window (ends_on);
CREATE INDEX instrument_use_by_test ON instrument_use (test_id) WHERE test_id IS NOT NULL;
