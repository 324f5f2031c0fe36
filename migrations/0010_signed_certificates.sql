-- Certificates that can be checked by anyone: the keys they are signed with, corrections that
-- replace a certificate, and the papers that were handed out.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

-- The public halves of the plant's keys, each for ever: a signature made with a key that is no
-- longer in use stays true. The secret half is a file in the plant's folder and never in here.
CREATE TABLE signing_key (
  id INTEGER PRIMARY KEY,
  fingerprint TEXT NOT NULL CONSTRAINT key_fingerprint CHECK (length(fingerprint) = 16),
  public_key TEXT NOT NULL CONSTRAINT key_public CHECK (length(public_key) = 64),
  made_at TEXT NOT NULL,
  person_id INTEGER REFERENCES person (id),
  reason TEXT NOT NULL CONSTRAINT key_reason CHECK (length(trim(reason)) BETWEEN 3 AND 400),
  CONSTRAINT signing_key_unique UNIQUE (fingerprint)
) STRICT;
CREATE TRIGGER signing_key_unchanged BEFORE UPDATE ON signing_key BEGIN
  SELECT RAISE (ABORT, 'key-unchanged: a key that signed is never changed');
END;
CREATE TRIGGER signing_key_kept BEFORE DELETE ON signing_key BEGIN
  SELECT RAISE (ABORT, 'key-unchanged: a key that signed is never deleted; old signatures are checked with it');
END;

-- Looking for the row itself closes the way around the triggers: INSERT OR REPLACE deletes without
-- asking them.
CREATE TRIGGER signing_key_once BEFORE INSERT ON signing_key
WHEN EXISTS (SELECT 1 FROM signing_key WHERE id = new.id OR fingerprint = new.fingerprint) BEGIN
  SELECT RAISE (ABORT, 'key-unchanged: this key is known already');
END;

-- The table of certificates anew, without the rule of one for ever a test: a correction is a new
-- certificate of the same test. The columns keep their order, so that the seals of old rows stay
-- true, and the new ones may be NULL. The table other tables point to keeps its name throughout.
PRAGMA legacy_alter_table = ON;
CREATE TABLE certificate_anew (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL CONSTRAINT certificate_number CHECK (length(number) BETWEEN 1 AND 40),
  test_id INTEGER NOT NULL REFERENCES pressure_test (id),
  issued_by INTEGER NOT NULL REFERENCES person (id),
  issued_at TEXT NOT NULL,
  record TEXT NOT NULL CONSTRAINT certificate_record CHECK (json_valid(record)),
  sha256 TEXT NOT NULL CONSTRAINT certificate_hash CHECK (length(sha256) = 64),
  year INTEGER,
  ordinal INTEGER,
  supersedes INTEGER REFERENCES certificate (id),
  key_id INTEGER REFERENCES signing_key (id),
  signature TEXT CONSTRAINT certificate_signature CHECK (signature IS NULL OR length(signature) = 128),
  CONSTRAINT certificate_number_unique UNIQUE (number),
  CONSTRAINT certificate_supersedes_unique UNIQUE (supersedes),
  CONSTRAINT certificate_signed CHECK ((key_id IS NULL) = (signature IS NULL))
) STRICT;
INSERT INTO certificate_anew (id, number, test_id, issued_by, issued_at, record, sha256, year, ordinal)
SELECT id, number, test_id, issued_by, issued_at, record, sha256, year, ordinal FROM certificate;
DROP TABLE certificate;
ALTER TABLE certificate_anew RENAME TO certificate;
PRAGMA legacy_alter_table = OFF;

CREATE UNIQUE INDEX certificate_in_year ON certificate (year, ordinal);
CREATE INDEX certificate_of_test ON certificate (test_id, id);
-- A code typed from a paper is the beginning of the hash.
CREATE INDEX certificate_by_hash ON certificate (sha256);
CREATE INDEX certificate_day ON certificate (issued_at, id);

CREATE TRIGGER certificate_unchanged BEFORE UPDATE ON certificate BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: an issued certificate is never changed');
END;
CREATE TRIGGER certificate_kept BEFORE DELETE ON certificate BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: an issued certificate is never deleted');
END;
CREATE TRIGGER certificate_in_turn BEFORE INSERT ON certificate
WHEN new.year IS NULL
  OR new.ordinal IS NOT 1 + coalesce((SELECT max(ordinal) FROM certificate WHERE year = new.year), 0) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: certificates are numbered one after the other');
END;
CREATE TRIGGER certificate_once BEFORE INSERT ON certificate
WHEN EXISTS (SELECT 1 FROM certificate WHERE id = new.id)
  OR EXISTS (SELECT 1 FROM certificate WHERE number = new.number) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: this certificate number was given meanwhile; try again');
END;
-- One certificate of a test stands at a time: a second one names the first as replaced.
CREATE TRIGGER certificate_of_test_once BEFORE INSERT ON certificate
WHEN EXISTS (SELECT 1 FROM certificate c WHERE c.test_id = new.test_id AND c.id IS NOT new.supersedes
  AND NOT EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = c.id)) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: a certificate was issued from this test already');
END;
CREATE TRIGGER certificate_replaces BEFORE INSERT ON certificate
WHEN new.supersedes IS NOT NULL
  AND (NOT EXISTS (SELECT 1 FROM certificate c WHERE c.id = new.supersedes AND c.test_id = new.test_id)
    OR EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = new.supersedes)) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: a correction replaces the certificate of the same test that stands');
END;
CREATE TRIGGER certificate_of_a_proof BEFORE INSERT ON certificate
WHEN (SELECT result FROM pressure_test WHERE id = new.test_id) IS NOT 'passed'
  OR NOT EXISTS (SELECT 1 FROM witnessing WHERE test_id = new.test_id) BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: only a test that was passed and witnessed is certified');
END;
CREATE TRIGGER certificate_waits AFTER INSERT ON certificate BEGIN
  DELETE FROM test_waiting WHERE test_id = new.test_id;
END;

-- The hash of every paper as it was handed out. The layout of papers changes with the program; a
-- paper of an earlier layout is still the one that was issued.
CREATE TABLE certificate_paper (
  id INTEGER PRIMARY KEY,
  certificate_id INTEGER NOT NULL REFERENCES certificate (id),
  paper TEXT NOT NULL CONSTRAINT paper_size CHECK (paper IN ('a4', 'letter')),
  sha256 TEXT NOT NULL CONSTRAINT paper_hash CHECK (length(sha256) = 64),
  at TEXT NOT NULL,
  CONSTRAINT certificate_paper_unique UNIQUE (sha256)
) STRICT;
CREATE INDEX certificate_paper_of ON certificate_paper (certificate_id, paper);
CREATE TRIGGER certificate_paper_unchanged BEFORE UPDATE ON certificate_paper BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: a paper that was handed out is never changed');
END;
CREATE TRIGGER certificate_paper_once BEFORE INSERT ON certificate_paper
WHEN EXISTS (SELECT 1 FROM certificate_paper WHERE id = new.id OR sha256 = new.sha256) BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: this paper was handed out before');
END;
CREATE TRIGGER certificate_paper_kept BEFORE DELETE ON certificate_paper BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: a paper that was handed out is never forgotten');
END;
