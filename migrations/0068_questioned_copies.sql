-- A copy of a certificate is marked too while the certificate is questioned; and how each certificate
-- stands, said once for every list. Every RAISE text begins with a key that store/mod.rs translates into plain words.

-- The table of papers anew, with one more word a copy may bear. The columns keep their order and their
-- names, so that the seals of old rows stay true.
PRAGMA legacy_alter_table = ON;
CREATE TABLE certificate_paper_anew (
  id INTEGER PRIMARY KEY,
  certificate_id INTEGER NOT NULL REFERENCES certificate (id),
  paper TEXT NOT NULL CONSTRAINT paper_size CHECK (paper IN ('a4', 'letter')),
  sha256 TEXT NOT NULL CONSTRAINT paper_hash CHECK (length(sha256) = 64),
  at TEXT NOT NULL,
  marked TEXT CONSTRAINT paper_marked CHECK (marked IS NULL OR marked IN ('withdrawn', 'superseded', 'questioned')),
  CONSTRAINT certificate_paper_unique UNIQUE (sha256)
) STRICT;
INSERT INTO certificate_paper_anew (id, certificate_id, paper, sha256, at, marked)
SELECT id, certificate_id, paper, sha256, at, marked FROM certificate_paper;
DROP TABLE certificate_paper;
ALTER TABLE certificate_paper_anew RENAME TO certificate_paper;
PRAGMA legacy_alter_table = OFF;

CREATE INDEX certificate_paper_of ON certificate_paper (certificate_id, paper);
CREATE TRIGGER certificate_paper_unchanged BEFORE UPDATE ON certificate_paper BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: a paper that was handed out is never changed');
END;
-- Looking for the row itself closes the way around the triggers: INSERT OR REPLACE deletes without
-- asking them.
CREATE TRIGGER certificate_paper_once BEFORE INSERT ON certificate_paper
WHEN EXISTS (SELECT 1 FROM certificate_paper WHERE id = new.id OR sha256 = new.sha256) BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: this paper was handed out before');
END;
CREATE TRIGGER certificate_paper_kept BEFORE DELETE ON certificate_paper BEGIN
  SELECT RAISE (ABORT, 'paper-unchanged: a paper that was handed out is never forgotten');
END;

-- In the order of record::certificate_mark::Today: withdrawn is final, a later certificate stands in the
-- place of a superseded one, and a doubt is open until something was said of the same recall since.
CREATE VIEW certificate_standing AS
SELECT c.id AS certificate_id, c.number,
  CASE
    WHEN EXISTS (SELECT 1 FROM certificate_mark m WHERE m.certificate_id = c.id AND m.kind = 'withdrawn') THEN 'withdrawn'
    WHEN EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = c.id) THEN 'superseded'
    WHEN EXISTS (SELECT 1 FROM certificate_mark m WHERE m.certificate_id = c.id AND m.kind = 'questioned'
      AND NOT EXISTS (SELECT 1 FROM certificate_mark l WHERE l.certificate_id = c.id AND l.recall_id IS m.recall_id AND l.id > m.id)) THEN 'questioned'
    ELSE 'stands' END AS standing
FROM certificate c;
