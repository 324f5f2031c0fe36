-- The shelf of each kit for the days ahead, beside what to order of it, so that the storeroom's first
-- page reads one row a kit; and everything else that moves what to order.

ALTER TABLE kit_outlook ADD COLUMN unusable INTEGER NOT NULL DEFAULT 0;
ALTER TABLE kit_outlook ADD COLUMN ahead_wanted INTEGER NOT NULL DEFAULT 0;
ALTER TABLE kit_outlook ADD COLUMN ahead_short INTEGER NOT NULL DEFAULT 0;
ALTER TABLE kit_outlook ADD COLUMN ahead_short_on TEXT;
ALTER TABLE kit_outlook ADD COLUMN ahead_order_by TEXT;
CREATE INDEX kit_outlook_ahead ON kit_outlook (ahead_order_by, kit_id) WHERE ahead_order_by IS NOT NULL;
UPDATE kit_outlook SET stale = 1;

-- What moves one kit marks it stale, and the deed reckons it before it commits.
CREATE TRIGGER kit_outlook_taker_new AFTER INSERT ON class_kit BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_taker AFTER UPDATE ON class_kit BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_recalled AFTER INSERT ON recall WHEN new.lot_id IS NOT NULL BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = (SELECT kit_id FROM lot WHERE id = new.lot_id) AND stale = 0;
END;
CREATE TRIGGER kit_outlook_decided AFTER INSERT ON recall_decision BEGIN
  UPDATE kit_outlook SET stale = 1
  WHERE kit_id = (SELECT l.kit_id FROM recall r JOIN lot l ON l.id = r.lot_id WHERE r.id = new.recall_id) AND stale = 0;
END;

-- What moves the rate of a whole class, or the interval its gauges come round in, moves all its kits a
-- little: they count as reckoned on no day, and the server reckons them within minutes. A deed that
-- reports a failure must not wait for hundreds of kits.
CREATE INDEX class_kit_class ON class_kit (service_class_id, kit_id);
CREATE TRIGGER kit_outlook_class_new AFTER INSERT ON class_count
WHEN EXISTS (SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_reckoned WHERE reckoned_on > '') BEGIN
  UPDATE kit_outlook SET reckoned_on = ''
  WHERE reckoned_on > '' AND kit_id IN (SELECT kit_id FROM class_kit WHERE service_class_id = new.service_class_id);
END;
CREATE TRIGGER kit_outlook_class AFTER UPDATE ON class_count
WHEN EXISTS (SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_reckoned WHERE reckoned_on > '') BEGIN
  UPDATE kit_outlook SET reckoned_on = ''
  WHERE reckoned_on > '' AND kit_id IN (SELECT kit_id FROM class_kit WHERE service_class_id = new.service_class_id);
END;
CREATE TRIGGER kit_outlook_class_failed_new AFTER INSERT ON class_failures BEGIN
  UPDATE kit_outlook SET reckoned_on = ''
  WHERE reckoned_on > '' AND kit_id IN (SELECT kit_id FROM class_kit WHERE service_class_id = new.service_class_id);
END;
CREATE TRIGGER kit_outlook_class_failed AFTER UPDATE ON class_failures BEGIN
  UPDATE kit_outlook SET reckoned_on = ''
  WHERE reckoned_on > '' AND kit_id IN (SELECT kit_id FROM class_kit WHERE service_class_id = new.service_class_id);
END;
CREATE TRIGGER kit_outlook_interval AFTER UPDATE OF rebuild_months ON service_class WHEN new.rebuild_months IS NOT old.rebuild_months BEGIN
  UPDATE kit_outlook SET reckoned_on = ''
  WHERE reckoned_on > '' AND kit_id IN (SELECT kit_id FROM class_kit WHERE service_class_id = new.id);
END;
CREATE TRIGGER kit_outlook_zone AFTER UPDATE OF time_zone ON plant WHEN new.time_zone <> old.time_zone BEGIN
  UPDATE kit_outlook SET reckoned_on = '' WHERE reckoned_on > '';
END;
