-- What somebody assumed of a gauge for a whole list, where the list said nothing: words of `Assumed` as a
-- JSON array, none once each was confirmed on the gauge. It belongs to the gauge and is sealed with it.
ALTER TABLE gauge ADD COLUMN assumed TEXT CONSTRAINT gauge_assumed
  CHECK (assumed IS NULL OR (json_valid(assumed) AND json_type(assumed) = 'array' AND json_array_length(assumed) > 0));
-- A rating or a torque that is not in the register was never read, unless somebody said that the nameplate
-- does not tell it. Gauges taken in before say neither.
ALTER TABLE gauge ADD COLUMN rating_unreadable INTEGER CONSTRAINT gauge_rating_unreadable
  CHECK (rating_unreadable IS NULL OR (rating_unreadable = 1 AND rating_value IS NULL));
ALTER TABLE gauge ADD COLUMN torque_unreadable INTEGER CONSTRAINT gauge_torque_unreadable
  CHECK (torque_unreadable IS NULL OR (torque_unreadable = 1 AND torque_value IS NULL));
-- On what ground the plant's settings were chosen, and on which day they were last changed: both stand
-- beside them on new records. Settings of before say neither until somebody writes it.
ALTER TABLE plant ADD COLUMN ground TEXT CONSTRAINT plant_ground CHECK (length(trim(ground)) BETWEEN 1 AND 400);
ALTER TABLE plant ADD COLUMN settled_on TEXT CONSTRAINT plant_settled_on
  CHECK (settled_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]');
