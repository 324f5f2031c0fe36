-- The gauges in service that no rule gives a date: "none past due" says nothing of them, so pages count and list
-- them beside it. Kept by triggers, so that neither walks the fleet; `verify` compares it with gauges and dates.

CREATE TABLE undated (
  gauge_id INTEGER PRIMARY KEY REFERENCES gauge (id),
  tag TEXT NOT NULL COLLATE NOCASE
) STRICT;
CREATE INDEX undated_by_tag ON undated (tag, gauge_id);

INSERT INTO undated (gauge_id, tag)
SELECT g.id, g.tag FROM gauge g WHERE g.standing = 'in-service' AND NOT EXISTS (SELECT 1 FROM due d WHERE d.gauge_id = g.id);

CREATE TRIGGER undated_taken_in AFTER INSERT ON gauge WHEN new.standing = 'in-service' BEGIN
  INSERT INTO undated (gauge_id, tag) VALUES (new.id, new.tag);
END;
CREATE TRIGGER undated_dated AFTER INSERT ON due BEGIN
  DELETE FROM undated WHERE gauge_id = new.gauge_id;
END;
CREATE TRIGGER undated_again AFTER DELETE ON due BEGIN
  INSERT INTO undated (gauge_id, tag)
  SELECT g.id, g.tag FROM gauge g WHERE g.id = old.gauge_id AND g.standing = 'in-service'
  ON CONFLICT (gauge_id) DO NOTHING;
END;
CREATE TRIGGER undated_rests AFTER UPDATE OF standing ON gauge WHEN old.standing = 'in-service' AND new.standing <> 'in-service' BEGIN
  DELETE FROM undated WHERE gauge_id = new.id;
END;
CREATE TRIGGER undated_back AFTER UPDATE OF standing ON gauge WHEN old.standing <> 'in-service' AND new.standing = 'in-service' BEGIN
  INSERT INTO undated (gauge_id, tag)
  SELECT new.id, new.tag WHERE NOT EXISTS (SELECT 1 FROM due d WHERE d.gauge_id = new.id)
  ON CONFLICT (gauge_id) DO NOTHING;
END;
CREATE TRIGGER undated_renamed AFTER UPDATE OF tag ON gauge WHEN new.tag COLLATE BINARY <> old.tag BEGIN
  UPDATE undated SET tag = new.tag WHERE gauge_id = new.id;
END;
