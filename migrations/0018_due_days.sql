-- How many gauges fall due in an area on a day, kept by triggers, so that the board asks for days and
-- never counts the fleet. Which of the days are past is decided by the reader's today.

CREATE TABLE due_day (
  area_id INTEGER NOT NULL REFERENCES area (id),
  latest_on TEXT NOT NULL,
  gauges INTEGER NOT NULL CONSTRAINT due_day_gauges CHECK (gauges >= 0),
  PRIMARY KEY (area_id, latest_on)
) STRICT, WITHOUT ROWID;

INSERT INTO due_day (area_id, latest_on, gauges)
SELECT area_id, latest_on, count(*) FROM due GROUP BY area_id, latest_on;

CREATE TRIGGER due_day_added AFTER INSERT ON due BEGIN
  INSERT INTO due_day (area_id, latest_on, gauges) VALUES (new.area_id, new.latest_on, 1)
  ON CONFLICT (area_id, latest_on) DO UPDATE SET gauges = gauges + 1;
END;
CREATE TRIGGER due_day_removed AFTER DELETE ON due BEGIN
  UPDATE due_day SET gauges = gauges - 1 WHERE area_id = old.area_id AND latest_on = old.latest_on;
  DELETE FROM due_day WHERE area_id = old.area_id AND latest_on = old.latest_on AND gauges = 0;
END;
CREATE TRIGGER due_day_moved AFTER UPDATE OF area_id, latest_on ON due
WHEN new.area_id <> old.area_id OR new.latest_on <> old.latest_on BEGIN
  UPDATE due_day SET gauges = gauges - 1 WHERE area_id = old.area_id AND latest_on = old.latest_on;
  DELETE FROM due_day WHERE area_id = old.area_id AND latest_on = old.latest_on AND gauges = 0;
  INSERT INTO due_day (area_id, latest_on, gauges) VALUES (new.area_id, new.latest_on, 1)
  ON CONFLICT (area_id, latest_on) DO UPDATE SET gauges = gauges + 1;
END;
