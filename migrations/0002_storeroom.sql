-- The storeroom and the instruments: what is never taken away, and small projections, written by
-- triggers, that keep their lists cheap however long the history grows.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

CREATE TRIGGER kit_kept BEFORE DELETE ON kit BEGIN
  SELECT RAISE (ABORT, 'kit-kept: a kit is never deleted; its lots and gauges speak of it');
END;
CREATE TRIGGER lot_kept BEFORE DELETE ON lot BEGIN
  SELECT RAISE (ABORT, 'lot-kept: a lot is used up or scrapped, never deleted');
END;
CREATE TRIGGER lot_unchanged BEFORE UPDATE ON lot
WHEN new.id <> old.id OR new.kit_id <> old.kit_id OR new.number <> old.number OR new.received_on <> old.received_on BEGIN
  SELECT RAISE (ABORT, 'lot-kept: the number of a lot and the day it came are never changed');
END;
CREATE TRIGGER instrument_kept BEFORE DELETE ON instrument BEGIN
  SELECT RAISE (ABORT, 'instrument-kept: an instrument is retired, never deleted');
END;
CREATE TRIGGER calibration_unchanged BEFORE UPDATE ON calibration BEGIN
  SELECT RAISE (ABORT, 'calibration-kept: a calibration is evidence and is not changed; record another');
END;
CREATE TRIGGER calibration_kept BEFORE DELETE ON calibration BEGIN
  SELECT RAISE (ABORT, 'calibration-kept: a calibration is never deleted');
END;

-- Lots used up stay for ever; this names those that still hold something. How many they hold is
-- the last line of the ledger and stands nowhere else.
CREATE TABLE lot_on_shelf (
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  lot_id INTEGER NOT NULL REFERENCES lot (id),
  PRIMARY KEY (kit_id, lot_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX lot_of_kit ON lot (kit_id, id);
CREATE TRIGGER stock_line_shelved AFTER INSERT ON stock_line WHEN new.balance > 0 BEGIN
  INSERT OR IGNORE INTO lot_on_shelf (kit_id, lot_id) SELECT kit_id, id FROM lot WHERE id = new.lot_id;
END;
CREATE TRIGGER stock_line_emptied AFTER INSERT ON stock_line WHEN new.balance = 0 BEGIN
  DELETE FROM lot_on_shelf
  WHERE kit_id = (SELECT kit_id FROM lot WHERE id = new.lot_id) AND lot_id = new.lot_id;
END;
INSERT INTO lot_on_shelf (kit_id, lot_id)
SELECT kit_id, id FROM lot
WHERE (SELECT balance FROM stock_line WHERE lot_id = lot.id ORDER BY id DESC LIMIT 1) > 0;

-- When a gauge's next rebuild wants kits, and how many are still to come from the shelf: written
-- beside the due date, since a look-over that falls due earlier hides the rebuild behind it there.
CREATE TABLE kit_need (
  gauge_id INTEGER PRIMARY KEY REFERENCES gauge (id),
  kit_id INTEGER REFERENCES kit (id),
  on_date TEXT NOT NULL CONSTRAINT need_date CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  kits INTEGER NOT NULL CONSTRAINT need_kits CHECK (kits >= 1)
) STRICT;
CREATE INDEX kit_need_kit ON kit_need (kit_id, on_date, gauge_id);

-- The same, added up by kit and day, so that asking what a season wants costs days and not gauges.
CREATE TABLE kit_need_day (
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  on_date TEXT NOT NULL,
  kits INTEGER NOT NULL CONSTRAINT need_day_kits CHECK (kits >= 0),
  PRIMARY KEY (kit_id, on_date)
) STRICT, WITHOUT ROWID;
CREATE INDEX kit_need_day_date ON kit_need_day (on_date, kit_id, kits);
CREATE TRIGGER kit_need_added AFTER INSERT ON kit_need WHEN new.kit_id IS NOT NULL BEGIN
  INSERT INTO kit_need_day (kit_id, on_date, kits) VALUES (new.kit_id, new.on_date, new.kits)
  ON CONFLICT (kit_id, on_date) DO UPDATE SET kits = kits + excluded.kits;
END;
CREATE TRIGGER kit_need_removed AFTER DELETE ON kit_need WHEN old.kit_id IS NOT NULL BEGIN
  UPDATE kit_need_day SET kits = kits - old.kits WHERE kit_id = old.kit_id AND on_date = old.on_date;
  DELETE FROM kit_need_day WHERE kit_id = old.kit_id AND on_date = old.on_date AND kits = 0;
END;
CREATE TRIGGER kit_need_changed AFTER UPDATE ON kit_need BEGIN
  UPDATE kit_need_day SET kits = kits - old.kits WHERE kit_id = old.kit_id AND on_date = old.on_date;
  DELETE FROM kit_need_day WHERE kit_id = old.kit_id AND on_date = old.on_date AND kits = 0;
  INSERT INTO kit_need_day (kit_id, on_date, kits) SELECT new.kit_id, new.on_date, new.kits WHERE new.kit_id IS NOT NULL
  ON CONFLICT (kit_id, on_date) DO UPDATE SET kits = kits + excluded.kits;
END;

-- The last day each instrument in use is covered by its latest calibration; empty where none
-- covers it (never calibrated, or found out of tolerance), so that those come first in its order.
CREATE TABLE calibration_cover (
  instrument_id INTEGER PRIMARY KEY REFERENCES instrument (id),
  kind TEXT NOT NULL,
  until_on TEXT NOT NULL
) STRICT;
CREATE INDEX calibration_cover_until ON calibration_cover (until_on, instrument_id);
CREATE INDEX calibration_cover_kind ON calibration_cover (kind, until_on, instrument_id);
CREATE INDEX instrument_retired ON instrument (number) WHERE retired_at IS NOT NULL;
CREATE TRIGGER instrument_uncovered AFTER INSERT ON instrument WHEN new.retired_at IS NULL BEGIN
  INSERT INTO calibration_cover (instrument_id, kind, until_on) VALUES (new.id, new.kind, '');
END;
CREATE TRIGGER calibration_covers AFTER INSERT ON calibration BEGIN
  UPDATE calibration_cover
  SET until_on = (SELECT iif(found = 'within-tolerance', due_on, '') FROM calibration
                  WHERE instrument_id = new.instrument_id ORDER BY calibrated_on DESC, id DESC LIMIT 1)
  WHERE instrument_id = new.instrument_id;
END;
CREATE TRIGGER instrument_recovered AFTER UPDATE OF retired_at, kind ON instrument BEGIN
  DELETE FROM calibration_cover WHERE instrument_id = new.id;
  INSERT INTO calibration_cover (instrument_id, kind, until_on)
  SELECT new.id, new.kind,
         coalesce((SELECT iif(found = 'within-tolerance', due_on, '') FROM calibration
                   WHERE instrument_id = new.id ORDER BY calibrated_on DESC, id DESC LIMIT 1), '')
  WHERE new.retired_at IS NULL;
END;
INSERT INTO calibration_cover (instrument_id, kind, until_on)
SELECT i.id, i.kind,
       coalesce((SELECT iif(c.found = 'within-tolerance', c.due_on, '') FROM calibration c
                 WHERE c.instrument_id = i.id ORDER BY c.calibrated_on DESC, c.id DESC LIMIT 1), '')
FROM instrument i WHERE i.retired_at IS NULL;
