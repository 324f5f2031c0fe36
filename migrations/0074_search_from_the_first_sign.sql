-- Words are looked up from their first sign on: LG-1 asks for every piece that begins with 1, and without
-- an index of first signs that walks all of them.
DROP TRIGGER gauge_words_added;
DROP TRIGGER gauge_words_changed;
DROP TABLE gauge_words;
CREATE VIRTUAL TABLE gauge_words USING fts5 (tag, vessel, service, maker, order_number, content = 'gauge', content_rowid = 'id', prefix = '1 2 3', tokenize = 'unicode61');
INSERT INTO gauge_words (gauge_words) VALUES ('rebuild');
CREATE TRIGGER gauge_words_added AFTER INSERT ON gauge BEGIN
  INSERT INTO gauge_words (rowid, tag, vessel, service, maker, order_number)
  VALUES (new.id, new.tag, new.vessel, new.service, new.maker, new.order_number);
END;
CREATE TRIGGER gauge_words_changed AFTER UPDATE OF tag, vessel, service, maker, order_number ON gauge BEGIN
  INSERT INTO gauge_words (gauge_words, rowid, tag, vessel, service, maker, order_number)
  VALUES ('delete', old.id, old.tag, old.vessel, old.service, old.maker, old.order_number);
  INSERT INTO gauge_words (rowid, tag, vessel, service, maker, order_number)
  VALUES (new.id, new.tag, new.vessel, new.service, new.maker, new.order_number);
END;
