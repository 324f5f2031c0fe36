-- What rebuilds took at the bench is asked of the last ones that were returned; this walks those alone, however
-- many are planned or were abandoned since.
CREATE INDEX rebuild_returned ON rebuild (id) WHERE state = 'returned' AND started_at IS NOT NULL;
