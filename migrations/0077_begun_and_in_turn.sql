-- What a hold began with: the rating and what plant, class and gauge had chosen for its test, as it stood then,
-- so that what is chosen while it runs changes nothing of it. Holds begun before have none of it and follow
-- what is chosen. The trigger that refuses every change of a hold covers these columns too.
ALTER TABLE hold ADD COLUMN rating_value TEXT;
ALTER TABLE hold ADD COLUMN rating_unit TEXT;
ALTER TABLE hold ADD COLUMN rating_at_value TEXT;
ALTER TABLE hold ADD COLUMN rating_at_unit TEXT;
ALTER TABLE hold ADD COLUMN code TEXT CONSTRAINT hold_code CHECK (code IN ('common-practice', 'asme-b31-3', 'asme-viii-ug-99', 'ped'));
ALTER TABLE hold ADD COLUMN factor TEXT;
ALTER TABLE hold ADD COLUMN hold_minutes INTEGER CONSTRAINT hold_shortest CHECK (hold_minutes BETWEEN 5 AND 1440);
ALTER TABLE hold ADD COLUMN stress_ratio TEXT;
ALTER TABLE hold ADD COLUMN limit_value TEXT;
ALTER TABLE hold ADD COLUMN limit_unit TEXT;
ALTER TABLE hold ADD COLUMN drop_value TEXT;
ALTER TABLE hold ADD COLUMN drop_unit TEXT;
ALTER TABLE hold ADD COLUMN guard TEXT CONSTRAINT hold_guard CHECK (guard IN ('none', 'ninety-five', 'expanded'));
ALTER TABLE hold ADD COLUMN thermometer TEXT;
-- Whose choice each was and on what ground, as a test keeps it.
ALTER TABLE hold ADD COLUMN choices TEXT CONSTRAINT hold_choices CHECK (json_valid(choices))
  CONSTRAINT hold_units CHECK ((rating_value IS NULL) = (rating_unit IS NULL) AND (rating_at_value IS NULL) = (rating_at_unit IS NULL)
    AND (limit_value IS NULL) = (limit_unit IS NULL) AND (drop_value IS NULL) = (drop_unit IS NULL))
  CONSTRAINT hold_whole CHECK ((choices IS NULL) = (rating_value IS NULL) AND (choices IS NULL) = (code IS NULL)
    AND (choices IS NULL) = (hold_minutes IS NULL));

-- The open rebuilds that want a kit, in the order in which they take it from the shelf.
CREATE INDEX kit_need_in_turn ON kit_need (kit_id, on_date, rebuild_id) WHERE rebuild_id IS NOT NULL;
