-- Attempts from a browser somebody has signed in with before are counted apart from those of anybody
-- at the door: guessing from outside no longer makes the right person wait. What was counted before is
-- of the last day only.
DROP TABLE sign_in_attempt;
CREATE TABLE sign_in_attempt (
  id INTEGER PRIMARY KEY,
  sign_in TEXT NOT NULL COLLATE NOCASE CONSTRAINT attempt_sign_in CHECK (length(sign_in) BETWEEN 2 AND 60),
  asked TEXT NOT NULL CONSTRAINT attempt_asked CHECK (asked IN ('at-the-door', 'known-browser', 'signed-in')),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX sign_in_attempt_recent ON sign_in_attempt (sign_in, asked, at);
CREATE INDEX sign_in_attempt_at ON sign_in_attempt (at);
