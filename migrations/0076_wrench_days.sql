-- How often each torque wrench was loaded on each day. Summed up from the entries at every reading, it cost
-- more than a second in a plant of 100,000 gauges; a projection, kept with
-- each entry and compared by `verify`.

-- What each tightening loaded its wrench with: each nut of each pass of each section. A section whose bolt
-- layout nobody wrote down counts the most nuts it can have, so that no wrench is trusted too long.
CREATE VIEW tightening_made AS
SELECT e.id AS entry_id, e.facts ->> 'wrench' AS wrench,
  substr(coalesce(e.facts ->> '$.finished[#-1].at', e.done_at, e.at), 1, 10) AS day,
  json_array_length(e.facts, '$.passes') * coalesce(2 * g.bolts_per_rail, 24) * iif(e.section IS NULL, g.sections, 1) AS made
FROM bench_entry e JOIN rebuild r ON r.id = e.rebuild_id JOIN gauge g ON g.id = r.gauge_id
WHERE e.topic = 'tightened' AND e.facts ->> 'wrench' IS NOT NULL AND json_array_length(e.facts, '$.passes') IS NOT NULL;
-- And each round after the first heat cycle: each nut once.
CREATE VIEW re_torque_made AS
SELECT t.id AS re_torque_id, t.facts ->> 'wrench' AS wrench, t.on_date AS day,
  coalesce(2 * g.bolts_per_rail, 24) * g.sections AS made
FROM re_torque t JOIN gauge g ON g.id = t.gauge_id
WHERE t.facts ->> 'wrench' IS NOT NULL;
-- Both, of what counts today.
CREATE VIEW wrench_day_made AS
SELECT wrench COLLATE NOCASE AS wrench, day, sum(made) AS made FROM (
  SELECT wrench, day, made FROM tightening_made m
  WHERE NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = m.entry_id)
  UNION ALL
  SELECT wrench, day, made FROM re_torque_made)
GROUP BY wrench COLLATE NOCASE, day;

CREATE TABLE wrench_day (
  wrench TEXT NOT NULL COLLATE NOCASE,
  day TEXT NOT NULL,
  made INTEGER NOT NULL,
  CONSTRAINT wrench_day_key PRIMARY KEY (wrench, day)
) STRICT, WITHOUT ROWID;
INSERT INTO wrench_day (wrench, day, made) SELECT wrench, day, made FROM wrench_day_made;

CREATE TRIGGER wrench_day_tightened AFTER INSERT ON bench_entry WHEN new.topic = 'tightened' BEGIN
  INSERT INTO wrench_day (wrench, day, made)
  SELECT wrench, day, made FROM tightening_made WHERE entry_id = new.id
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
END;
CREATE TRIGGER wrench_day_corrected AFTER INSERT ON bench_entry WHEN new.supersedes IS NOT NULL BEGIN
  INSERT INTO wrench_day (wrench, day, made)
  SELECT wrench, day, -made FROM tightening_made WHERE entry_id = new.supersedes
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
END;
CREATE TRIGGER wrench_day_again AFTER INSERT ON re_torque BEGIN
  INSERT INTO wrench_day (wrench, day, made)
  SELECT wrench, day, made FROM re_torque_made WHERE re_torque_id = new.id
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
END;
-- A layout that is corrected changes what was counted with it: taken off as it was, added as it is.
CREATE TRIGGER wrench_day_layout_was BEFORE UPDATE OF sections, bolts_per_rail ON gauge
WHEN new.sections <> old.sections OR new.bolts_per_rail IS NOT old.bolts_per_rail BEGIN
  INSERT INTO wrench_day (wrench, day, made)
  SELECT m.wrench, m.day, -m.made FROM rebuild r JOIN bench_entry e ON e.rebuild_id = r.id JOIN tightening_made m ON m.entry_id = e.id
  WHERE r.gauge_id = old.id AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
  INSERT INTO wrench_day (wrench, day, made)
  SELECT m.wrench, m.day, -m.made FROM re_torque t JOIN re_torque_made m ON m.re_torque_id = t.id WHERE t.gauge_id = old.id
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
END;
CREATE TRIGGER wrench_day_layout_is AFTER UPDATE OF sections, bolts_per_rail ON gauge
WHEN new.sections <> old.sections OR new.bolts_per_rail IS NOT old.bolts_per_rail BEGIN
  INSERT INTO wrench_day (wrench, day, made)
  SELECT m.wrench, m.day, m.made FROM rebuild r JOIN bench_entry e ON e.rebuild_id = r.id JOIN tightening_made m ON m.entry_id = e.id
  WHERE r.gauge_id = new.id AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
  INSERT INTO wrench_day (wrench, day, made)
  SELECT m.wrench, m.day, m.made FROM re_torque t JOIN re_torque_made m ON m.re_torque_id = t.id WHERE t.gauge_id = new.id
  ON CONFLICT (wrench, day) DO UPDATE SET made = made + excluded.made;
END;
