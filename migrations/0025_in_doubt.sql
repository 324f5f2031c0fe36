-- What relied on an instrument while it was not known to be good. Asked for each time and not kept: a
-- use entered late, for a day in doubt, belongs to the recall from the moment it is entered.

-- In doubt is what was used from the last day the instrument was found good until the day on which it
-- was found good again. The last calibration of a day is the one that counts on it.
CREATE VIEW use_in_doubt AS
SELECT r.id AS recall_id, u.id AS use_id, u.rebuild_id, u.test_id, u.used_on
FROM recall r
JOIN instrument_use u ON u.instrument_id = r.instrument_id AND u.used_on >= coalesce(r.since_on, '')
WHERE u.used_on <= r.until_on
  OR NOT EXISTS (
    SELECT 1 FROM calibration good
    WHERE good.instrument_id = r.instrument_id AND good.calibrated_on BETWEEN r.until_on AND u.used_on
      AND good.found = 'within-tolerance'
      AND NOT EXISTS (
        SELECT 1 FROM calibration after
        WHERE after.instrument_id = good.instrument_id AND after.calibrated_on = good.calibrated_on AND after.id > good.id
      )
  );
