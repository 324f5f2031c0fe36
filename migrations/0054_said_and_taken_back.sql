-- What people say of days and take back: the day a certificate was withdrawn, what a deferral names
-- and how far it may go, a failure reported by mistake, and what a plant's papers say of earlier work.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

ALTER TABLE certificate_mark ADD COLUMN on_date TEXT
  CONSTRAINT mark_on CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');

-- NULL where a deferral was signed before they named what they move: then it moves both.
ALTER TABLE deferral ADD COLUMN moves TEXT CONSTRAINT deferral_moves CHECK (moves IN ('rebuild', 'look-over'));
ALTER TABLE deferral_request ADD COLUMN moves TEXT CONSTRAINT request_moves CHECK (moves IN ('rebuild', 'look-over'));
CREATE TRIGGER deferral_request_moves_unchanged BEFORE UPDATE OF moves ON deferral_request
WHEN new.moves IS NOT old.moves BEGIN
  SELECT RAISE (ABORT, 'deferral-unchanged: a deferral that was asked for is decided, never changed');
END;
-- How many months past its own date a rebuild or look-over may be deferred; NULL: one interval.
ALTER TABLE service_class ADD COLUMN defer_months INTEGER CONSTRAINT class_defer CHECK (defer_months BETWEEN 1 AND 60);

-- A failure reported by mistake stays readable, with who took it back and why.
ALTER TABLE failure ADD COLUMN taken_back_at TEXT;
ALTER TABLE failure ADD COLUMN taken_back_by INTEGER REFERENCES person (id);
ALTER TABLE failure ADD COLUMN taken_back_why TEXT CONSTRAINT failure_taken_back
  CHECK (taken_back_why IS NULL OR length(trim(taken_back_why)) BETWEEN 3 AND 2000);
DROP INDEX failure_open;
CREATE INDEX failure_open ON failure (gauge_id) WHERE rebuild_id IS NULL AND taken_back_at IS NULL;
CREATE TRIGGER failure_taken_back_for_good BEFORE UPDATE ON failure
WHEN old.taken_back_at IS NOT NULL OR (new.taken_back_at IS NOT NULL AND old.rebuild_id IS NOT NULL) BEGIN
  SELECT RAISE (ABORT, 'failure-unchanged: a failure that was answered or taken back is never changed');
END;
CREATE TRIGGER class_failure_taken_back AFTER UPDATE OF taken_back_at ON failure
WHEN old.taken_back_at IS NULL AND new.taken_back_at IS NOT NULL AND new.kind <> 'stuck-valve' BEGIN
  UPDATE class_failures SET failures = failures - 1 WHERE month = substr(new.seen_on, 1, 7)
    AND service_class_id = (SELECT service_class_id FROM gauge WHERE id = new.gauge_id);
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = (SELECT kit_id FROM gauge WHERE id = new.gauge_id) AND stale = 0;
END;

-- What the plant's papers say was done before the register began. No evidence of work done here, but
-- intervals count from it.
ALTER TABLE gauge ADD COLUMN papers_rebuilt_on TEXT
  CONSTRAINT gauge_papers_rebuilt CHECK (papers_rebuilt_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');
ALTER TABLE gauge ADD COLUMN papers_looked_on TEXT
  CONSTRAINT gauge_papers_looked CHECK (papers_looked_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');

-- The latest day of the next rebuild beside the date that governs: a look-over may come before it.
ALTER TABLE due ADD COLUMN rebuild_on TEXT;
-- The day the certificate was withdrawn, so that such a gauge is found whatever governs it.
ALTER TABLE due ADD COLUMN withdrawn_on TEXT;
CREATE INDEX due_withdrawn ON due (latest_on, gauge_id) WHERE withdrawn_on IS NOT NULL;
