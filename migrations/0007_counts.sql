-- How many gauges there are by standing, kept by triggers, so that no page counts the fleet.

CREATE TABLE gauge_count (
  standing TEXT PRIMARY KEY,
  gauges INTEGER NOT NULL CONSTRAINT count_not_negative CHECK (gauges >= 0)
) STRICT, WITHOUT ROWID;

INSERT INTO gauge_count (standing, gauges)
SELECT s.standing, (SELECT count(*) FROM gauge g WHERE g.standing = s.standing)
FROM (SELECT 'in-service' AS standing UNION ALL SELECT 'resting' UNION ALL SELECT 'retired') s;

CREATE TRIGGER gauge_counted AFTER INSERT ON gauge BEGIN
  UPDATE gauge_count SET gauges = gauges + 1 WHERE standing = new.standing;
END;

CREATE TRIGGER gauge_recounted AFTER UPDATE OF standing ON gauge WHEN old.standing <> new.standing BEGIN
  UPDATE gauge_count SET gauges = gauges - 1 WHERE standing = old.standing;
  UPDATE gauge_count SET gauges = gauges + 1 WHERE standing = new.standing;
END;
