-- Photographs taken at the bench: part of the record of the rebuild, and evidence as it is.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

CREATE TABLE bench_photo (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  section INTEGER CONSTRAINT bench_photo_section CHECK (section BETWEEN 1 AND 12),
  caption TEXT NOT NULL DEFAULT '' CONSTRAINT bench_photo_caption CHECK (length(caption) <= 200),
  at TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  width INTEGER NOT NULL,
  height INTEGER NOT NULL,
  sha256 BLOB NOT NULL,
  jpeg BLOB NOT NULL,
  small_jpeg BLOB NOT NULL
) STRICT;
CREATE INDEX bench_photo_rebuild ON bench_photo (rebuild_id, id);
CREATE TRIGGER bench_photo_open BEFORE INSERT ON bench_photo
WHEN (SELECT state FROM rebuild WHERE id = new.rebuild_id) IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: no photograph is added to a finished rebuild');
END;
CREATE TRIGGER bench_photo_unchanged BEFORE UPDATE ON bench_photo BEGIN
  SELECT RAISE (ABORT, 'photo-unchanged: a photograph taken at the bench is evidence and is not changed');
END;
CREATE TRIGGER bench_photo_kept BEFORE DELETE ON bench_photo BEGIN
  SELECT RAISE (ABORT, 'photo-unchanged: a photograph taken at the bench is never deleted');
END;
