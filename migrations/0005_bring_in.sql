-- A plant's list on its way in: how the file was read, the table that came out of it, and what
-- became of it. The file and the table are kept until the list is taken in, left or a week old;
-- the line itself stays, so that its number is never given to another list.

ALTER TABLE bring_in ADD COLUMN sha256 TEXT CONSTRAINT bring_in_sha256 CHECK (length(sha256) = 64);
ALTER TABLE bring_in ADD COLUMN found TEXT CONSTRAINT bring_in_found CHECK (json_valid(found));
ALTER TABLE bring_in ADD COLUMN heading_key TEXT;
ALTER TABLE bring_in ADD COLUMN lines INTEGER CONSTRAINT bring_in_lines CHECK (lines >= 0);
ALTER TABLE bring_in ADD COLUMN closed_by INTEGER REFERENCES person (id);
ALTER TABLE bring_in ADD COLUMN left_at TEXT CONSTRAINT bring_in_once CHECK (left_at IS NULL OR accepted_at IS NULL);
ALTER TABLE bring_in ADD COLUMN refused_rows INTEGER CONSTRAINT bring_in_refused CHECK (refused_rows >= 0);
ALTER TABLE bring_in ADD COLUMN passed_over_rows INTEGER CONSTRAINT bring_in_passed_over CHECK (passed_over_rows >= 0);
ALTER TABLE bring_in ADD COLUMN kept BLOB;
ALTER TABLE bring_in ADD COLUMN refused BLOB;

-- The matching of an earlier list with the same headings is offered again.
CREATE INDEX bring_in_headings ON bring_in (heading_key, id DESC) WHERE matching IS NOT NULL;
-- What still has to be forgotten one day.
CREATE INDEX bring_in_kept ON bring_in (at) WHERE length(bytes) > 0 OR refused IS NOT NULL;
