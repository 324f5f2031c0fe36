-- What is sent to the sign-in page by anybody is kept short, and attempts at the door are counted
-- apart from those of somebody who is signed in. What was counted before is of the last day only.
DROP TABLE sign_in_attempt;
CREATE TABLE sign_in_attempt (
  id INTEGER PRIMARY KEY,
  sign_in TEXT NOT NULL COLLATE NOCASE CONSTRAINT attempt_sign_in CHECK (length(sign_in) BETWEEN 2 AND 60),
  asked TEXT NOT NULL CONSTRAINT attempt_asked CHECK (asked IN ('at-the-door', 'signed-in')),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX sign_in_attempt_recent ON sign_in_attempt (sign_in, asked, at);
CREATE INDEX sign_in_attempt_at ON sign_in_attempt (at);

-- What the keys of forms are made with, so that a form opened in one session is still good in the
-- next one of the same person. It is no evidence: a new one only makes open forms be opened again.
CREATE TABLE form_secret (
  id INTEGER PRIMARY KEY CONSTRAINT one_form_secret CHECK (id = 1),
  secret BLOB NOT NULL CONSTRAINT form_secret_length CHECK (length(secret) = 32)
) STRICT;
INSERT INTO form_secret (id, secret) VALUES (1, randomblob(32));
