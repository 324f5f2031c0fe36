-- Lots held back: recalled, and nobody has decided yet that what is left of them stands.

CREATE VIEW lot_held_back AS
SELECT r.lot_id AS lot_id, max(r.id) AS recall_id
FROM recall r
WHERE r.lot_id IS NOT NULL
  AND (SELECT d.decision FROM recall_decision d
       WHERE d.recall_id = r.id AND d.rebuild_id IS NULL AND d.test_id IS NULL
       ORDER BY d.id DESC LIMIT 1) IS NOT 'stands'
GROUP BY r.lot_id;
CREATE TRIGGER stock_line_held_back BEFORE INSERT ON stock_line
WHEN new.kind = 'issue' AND EXISTS (SELECT 1 FROM lot_held_back WHERE lot_id = new.lot_id) BEGIN
  SELECT RAISE (ABORT, 'lot-held-back: this lot is recalled and not issued');
END;
