-- What a calibration certificate states besides its dates, the papers that came with it, and how many
-- loadings a torque wrench may make between two calibrations.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

-- The expanded uncertainty as the certificate states it: a value in the instrument's kind of unit, or a
-- percentage of the reading, and the coverage factor k. All three or none; older rows have none.
ALTER TABLE calibration ADD COLUMN uncertainty TEXT;
ALTER TABLE calibration ADD COLUMN uncertainty_unit TEXT;
ALTER TABLE calibration ADD COLUMN coverage TEXT
  CONSTRAINT calibration_uncertainty CHECK ((uncertainty IS NULL) = (coverage IS NULL) AND (uncertainty_unit IS NULL) = (coverage IS NULL));

-- The plant's own number; where it states none the usual one counts.
ALTER TABLE instrument ADD COLUMN cycle_limit INTEGER
  CONSTRAINT instrument_cycles CHECK (cycle_limit IS NULL OR (kind = 'torque-wrench' AND cycle_limit BETWEEN 1 AND 1000000));

CREATE TABLE calibration_document (
  id INTEGER PRIMARY KEY,
  calibration_id INTEGER NOT NULL REFERENCES calibration (id),
  title TEXT NOT NULL CONSTRAINT document_title CHECK (length(trim(title)) BETWEEN 1 AND 120),
  media_type TEXT NOT NULL CONSTRAINT document_media CHECK (media_type IN ('application/pdf', 'image/jpeg', 'image/png')),
  sha256 BLOB NOT NULL,
  bytes BLOB NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX calibration_document_calibration ON calibration_document (calibration_id, id);
CREATE TRIGGER calibration_document_unchanged BEFORE UPDATE ON calibration_document BEGIN
  SELECT RAISE (ABORT, 'document-kept: a paper of a calibration is evidence and is not changed');
END;
CREATE TRIGGER calibration_document_kept BEFORE DELETE ON calibration_document BEGIN
  SELECT RAISE (ABORT, 'document-kept: a paper of a calibration is never deleted');
END;

-- Finds what a wrench tightened since it was calibrated.
CREATE INDEX bench_entry_wrench ON bench_entry (facts ->> 'wrench' COLLATE NOCASE) WHERE topic = 'tightened';
CREATE INDEX re_torque_wrench ON re_torque (facts ->> 'wrench' COLLATE NOCASE);
