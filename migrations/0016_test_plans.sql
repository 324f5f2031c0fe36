-- How pressure tests are planned and judged: what plant, service class and gauge chose, re-tests
-- that are planned, several gauges on one pump, and the second approval a gas test needs.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

-- With neither class nor gauge it is the plant's own; the nearer one counts, field by field.
CREATE TABLE test_rule (
  id INTEGER PRIMARY KEY,
  service_class_id INTEGER REFERENCES service_class (id),
  gauge_id INTEGER REFERENCES gauge (id),
  code TEXT CONSTRAINT rule_code CHECK (code IN ('common-practice', 'asme-b31-3', 'asme-viii-ug-99', 'ped')),
  factor TEXT,
  hold_minutes INTEGER CONSTRAINT rule_hold CHECK (hold_minutes BETWEEN 5 AND 1440),
  stress_ratio TEXT,
  limit_value TEXT,
  limit_unit TEXT,
  drop_value TEXT,
  drop_unit TEXT,
  guard TEXT CONSTRAINT rule_guard CHECK (guard IN ('none', 'ninety-five', 'expanded')),
  thermometer TEXT,
  paper TEXT CONSTRAINT rule_paper CHECK (paper IN ('a4', 'letter')),
  ground TEXT NOT NULL CONSTRAINT rule_ground CHECK (length(trim(ground)) BETWEEN 3 AND 400),
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT rule_of_one CHECK (service_class_id IS NULL OR gauge_id IS NULL),
  CONSTRAINT rule_units CHECK ((limit_value IS NULL) = (limit_unit IS NULL) AND (drop_value IS NULL) = (drop_unit IS NULL))
) STRICT;
CREATE UNIQUE INDEX test_rule_scope ON test_rule (ifnull(service_class_id, 0), ifnull(gauge_id, 0));
CREATE TRIGGER test_rule_kept BEFORE DELETE ON test_rule BEGIN
  SELECT RAISE (ABORT, 'rule-kept: what was chosen for tests is never deleted; leave its fields empty');
END;

-- A test somebody planned beside the rebuild's own.
CREATE TABLE planned_test (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  planned_for TEXT NOT NULL CONSTRAINT planned_test_day CHECK (planned_for GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  witnessed INTEGER NOT NULL CONSTRAINT planned_test_witnessed CHECK (witnessed IN (0, 1)),
  note TEXT NOT NULL DEFAULT '',
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  -- The test it ended in, or why it was dropped.
  test_id INTEGER REFERENCES pressure_test (id),
  dropped TEXT CONSTRAINT planned_test_dropped CHECK (dropped IS NULL OR length(trim(dropped)) BETWEEN 3 AND 400),
  CONSTRAINT planned_test_end CHECK (test_id IS NULL OR dropped IS NULL)
) STRICT;
CREATE UNIQUE INDEX planned_test_open ON planned_test (gauge_id) WHERE test_id IS NULL AND dropped IS NULL;
CREATE INDEX planned_test_next ON planned_test (planned_for, id) WHERE test_id IS NULL AND dropped IS NULL;
CREATE TRIGGER planned_test_kept BEFORE DELETE ON planned_test BEGIN
  SELECT RAISE (ABORT, 'planned-test-kept: a planned test is never deleted; drop it with a reason');
END;
CREATE TRIGGER planned_test_ended BEFORE UPDATE ON planned_test
WHEN old.test_id IS NOT NULL OR old.dropped IS NOT NULL BEGIN
  SELECT RAISE (ABORT, 'planned-test-kept: this planned test has ended and is not changed');
END;

-- The first test of those that stood on one pump at the same time, by its number.
ALTER TABLE pressure_test ADD COLUMN pump_with TEXT;
CREATE INDEX pressure_test_pump ON pressure_test (pump_with) WHERE pump_with IS NOT NULL;

-- Why a gauge has to be tested with gas, with the energy that stores and the distance it asks for,
-- as computed on the day; and the approval of a second person.
CREATE TABLE gas_request (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  facts TEXT NOT NULL CONSTRAINT gas_facts CHECK (json_valid(facts)),
  reason TEXT NOT NULL CONSTRAINT gas_reason CHECK (length(trim(reason)) BETWEEN 10 AND 2000),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX gas_request_gauge ON gas_request (gauge_id, id DESC);
CREATE TRIGGER gas_request_unchanged BEFORE UPDATE ON gas_request BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: a request for a gas test is never changed; ask anew');
END;
CREATE TRIGGER gas_request_kept BEFORE DELETE ON gas_request BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: a request for a gas test is never deleted');
END;
CREATE TRIGGER gas_request_once BEFORE INSERT ON gas_request
WHEN EXISTS (SELECT 1 FROM gas_request WHERE id = new.id) BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: this request was made meanwhile; try again');
END;
CREATE TABLE gas_answer (
  request_id INTEGER PRIMARY KEY REFERENCES gas_request (id),
  approved INTEGER NOT NULL CONSTRAINT gas_approved CHECK (approved IN (0, 1)),
  until_on TEXT CONSTRAINT gas_until CHECK (until_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  words TEXT NOT NULL CONSTRAINT gas_words CHECK (length(trim(words)) BETWEEN 3 AND 2000),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT gas_until_approved CHECK ((approved = 1) = (until_on IS NOT NULL))
) STRICT;
CREATE TRIGGER gas_answer_unchanged BEFORE UPDATE ON gas_answer BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: an answer is never changed; ask anew');
END;
CREATE TRIGGER gas_answer_kept BEFORE DELETE ON gas_answer BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: an answer is never deleted');
END;
CREATE TRIGGER gas_answer_once BEFORE INSERT ON gas_answer
WHEN EXISTS (SELECT 1 FROM gas_answer WHERE request_id = new.request_id) BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: this request was answered already');
END;
CREATE TRIGGER gas_answer_by_another BEFORE INSERT ON gas_answer
WHEN new.person_id = (SELECT person_id FROM gas_request WHERE id = new.request_id) BEGIN
  SELECT RAISE (ABORT, 'gas-unchanged: the second approval is another person than the one who asked');
END;
