-- A part of a lot may lie elsewhere than the rest. A line of the ledger says where it happened, where that
-- is not the lot's own place; moving a part changes no balance and is a row of its own. What lies where is
-- the sum of both. Every RAISE text begins with a key that store/mod.rs translates into plain words.

ALTER TABLE stock_line ADD COLUMN place TEXT
  CONSTRAINT line_place CHECK (place IS NULL OR length(trim(place)) BETWEEN 1 AND 60);

-- A place that is NULL is the lot's own, whatever it is called by then; own_place is what it was called.
CREATE TABLE lot_move (
  id INTEGER PRIMARY KEY,
  lot_id INTEGER NOT NULL REFERENCES lot (id),
  from_place TEXT CONSTRAINT lot_move_from CHECK (from_place IS NULL OR length(trim(from_place)) BETWEEN 1 AND 60),
  to_place TEXT CONSTRAINT lot_move_to CHECK (to_place IS NULL OR length(trim(to_place)) BETWEEN 1 AND 60),
  own_place TEXT NOT NULL DEFAULT '',
  quantity INTEGER NOT NULL CONSTRAINT lot_move_quantity CHECK (quantity >= 1),
  -- The last line of the ledger before it: where it stands among them.
  after_line INTEGER NOT NULL REFERENCES stock_line (id),
  at TEXT NOT NULL,
  on_date TEXT NOT NULL CONSTRAINT lot_move_date CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  person_id INTEGER NOT NULL REFERENCES person (id),
  reason TEXT NOT NULL DEFAULT '',
  CONSTRAINT lot_move_apart CHECK (from_place IS NOT to_place)
) STRICT;
CREATE INDEX lot_move_of ON lot_move (lot_id, after_line);
CREATE INDEX lot_move_line ON lot_move (after_line, id);
CREATE TRIGGER lot_move_unchanged BEFORE UPDATE ON lot_move BEGIN
  SELECT RAISE (ABORT, 'stock-unchanged: a move is never changed; move the kits back');
END;
CREATE TRIGGER lot_move_kept BEFORE DELETE ON lot_move BEGIN
  SELECT RAISE (ABORT, 'stock-unchanged: a move is never deleted');
END;
-- Looking for the row itself closes the way around the triggers: INSERT OR REPLACE deletes without
-- asking them.
CREATE TRIGGER lot_move_once BEFORE INSERT ON lot_move
WHEN EXISTS (SELECT 1 FROM lot_move WHERE id = new.id) BEGIN
  SELECT RAISE (ABORT, 'stock-unchanged: this move is in the ledger already');
END;
CREATE TRIGGER lot_move_in_turn BEFORE INSERT ON lot_move
WHEN new.after_line IS NOT (SELECT max(id) FROM stock_line) BEGIN
  SELECT RAISE (ABORT, 'stock-balance: the ledger moved meanwhile; try again');
END;

-- What lies elsewhere than at its lot's own place, kept by triggers from the two tables above, so that no
-- page adds up a lot's whole history. The rest of the balance lies at the own place.
CREATE TABLE lot_elsewhere (
  lot_id INTEGER NOT NULL REFERENCES lot (id),
  place TEXT NOT NULL,
  kits INTEGER NOT NULL CONSTRAINT elsewhere_kits CHECK (kits >= 0),
  PRIMARY KEY (lot_id, place)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER stock_line_placed AFTER INSERT ON stock_line BEGIN
  INSERT OR IGNORE INTO lot_elsewhere (lot_id, place, kits) SELECT new.lot_id, new.place, 0 WHERE new.place IS NOT NULL;
  UPDATE lot_elsewhere SET kits = kits + new.quantity WHERE lot_id = new.lot_id AND place = new.place;
  DELETE FROM lot_elsewhere WHERE lot_id = new.lot_id AND place = new.place AND kits = 0;
  SELECT RAISE (ABORT, 'stock-balance: so many do not lie at the lot''s own place any more')
  WHERE new.balance < (SELECT coalesce(sum(kits), 0) FROM lot_elsewhere WHERE lot_id = new.lot_id);
END;
CREATE TRIGGER lot_move_placed AFTER INSERT ON lot_move BEGIN
  INSERT OR IGNORE INTO lot_elsewhere (lot_id, place, kits) SELECT new.lot_id, new.to_place, 0 WHERE new.to_place IS NOT NULL;
  UPDATE lot_elsewhere SET kits = kits + new.quantity WHERE lot_id = new.lot_id AND place = new.to_place;
  SELECT RAISE (ABORT, 'stock-balance: so many do not lie there any more')
  WHERE new.from_place IS NOT NULL
    AND new.quantity > coalesce((SELECT kits FROM lot_elsewhere WHERE lot_id = new.lot_id AND place = new.from_place), 0);
  UPDATE lot_elsewhere SET kits = kits - new.quantity WHERE lot_id = new.lot_id AND place = new.from_place;
  DELETE FROM lot_elsewhere WHERE lot_id = new.lot_id AND place = new.from_place AND kits = 0;
  SELECT RAISE (ABORT, 'stock-balance: so many do not lie at the lot''s own place any more')
  WHERE (SELECT balance FROM stock_line WHERE lot_id = new.lot_id ORDER BY id DESC LIMIT 1)
    < (SELECT coalesce(sum(kits), 0) FROM lot_elsewhere WHERE lot_id = new.lot_id);
END;
