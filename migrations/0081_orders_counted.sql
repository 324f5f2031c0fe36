-- What is to be ordered and what is to be hurried are counted on several pages, up to a bound; these are
-- walked alone, without a look at every kit's row.
CREATE INDEX kit_outlook_to_order ON kit_outlook (order_by) WHERE order_by IS NOT NULL AND quantity > 0;
CREATE INDEX kit_outlook_to_hurry ON kit_outlook (kit_id) WHERE order_by IS NOT NULL AND quantity = 0;
