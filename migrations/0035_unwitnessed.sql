-- A planned test that asks for no witness does not wait for one once it was passed; somebody who saw it
-- may still say so, and then it waits for its certificate like any other.

CREATE TRIGGER planned_test_unwitnessed AFTER UPDATE OF test_id ON planned_test
WHEN new.test_id IS NOT NULL AND new.witnessed = 0 BEGIN
  DELETE FROM test_waiting WHERE test_id = new.test_id AND what = 'witness';
END;

DROP TRIGGER witnessing_waits;
CREATE TRIGGER witnessing_waits AFTER INSERT ON witnessing BEGIN
  INSERT INTO test_waiting (test_id, gauge_id, what)
  SELECT t.id, t.gauge_id, 'certificate' FROM pressure_test t
  WHERE t.id = new.test_id AND t.result = 'passed'
    AND NOT EXISTS (SELECT 1 FROM certificate c WHERE c.test_id = t.id)
    -- A later test of the same gauge takes the place of an earlier one.
    AND NOT EXISTS (SELECT 1 FROM pressure_test o
      WHERE o.gauge_id = t.gauge_id AND o.id > t.id AND o.tested_on >= t.tested_on)
  ON CONFLICT (test_id) DO UPDATE SET what = excluded.what;
END;
