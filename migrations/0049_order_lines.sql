-- What was ordered stays as it was ordered: a line is added to a draft only, its kit and quantity are
-- changed in a draft only, and nothing of a closed order moves any more.
CREATE TRIGGER order_line_of_a_draft BEFORE INSERT ON kit_order_line
WHEN (SELECT state FROM kit_order WHERE id = new.order_id) IS NOT 'draft' BEGIN
  SELECT RAISE (ABORT, 'order-kept: a line is added to a draft only');
END;
CREATE TRIGGER order_line_unchanged BEFORE UPDATE OF order_id, kit_id, quantity, cost ON kit_order_line
WHEN (SELECT state FROM kit_order WHERE id = old.order_id) IS NOT 'draft'
  OR (SELECT state FROM kit_order WHERE id = new.order_id) IS NOT 'draft' BEGIN
  SELECT RAISE (ABORT, 'order-kept: a line of an order that was placed is not changed');
END;
CREATE TRIGGER order_line_closed BEFORE UPDATE ON kit_order_line
WHEN (SELECT state FROM kit_order WHERE id = old.order_id) IN ('received', 'withdrawn') BEGIN
  SELECT RAISE (ABORT, 'order-kept: an order that is closed is not changed');
END;
