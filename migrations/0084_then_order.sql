-- The projection of what to order also holds the order that follows the next one, so that lists tell it without
-- reckoning each kit again, and the day planned rebuilds alone run out of kits with what is on the way counted.
ALTER TABLE kit_outlook ADD COLUMN then_quantity INTEGER;
ALTER TABLE kit_outlook ADD COLUMN then_by TEXT;
ALTER TABLE kit_outlook ADD COLUMN then_on TEXT;
ALTER TABLE kit_outlook ADD COLUMN rebuilds_short_on TEXT;
UPDATE kit_outlook SET stale = 1;
