-- The register: plant, people, gauges, storeroom, rebuilds, pressure tests, certificates, audit.
-- Civil dates are ISO text of the plant's calendar; instants are UTC text of fixed width, so that
-- text order is time order. Numbers people stamp or type are decimal text beside a UCUM unit.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

CREATE TABLE plant (
  id INTEGER PRIMARY KEY CONSTRAINT one_plant CHECK (id = 1),
  name TEXT NOT NULL CONSTRAINT plant_name CHECK (length(trim(name)) BETWEEN 1 AND 120),
  owner TEXT NOT NULL DEFAULT '',
  address TEXT NOT NULL DEFAULT '',
  time_zone TEXT NOT NULL,
  test_code TEXT NOT NULL CONSTRAINT plant_code CHECK (test_code IN ('common-practice', 'asme-b31-3', 'asme-viii-ug-99', 'ped')),
  hold_minutes INTEGER NOT NULL CONSTRAINT plant_hold CHECK (hold_minutes BETWEEN 5 AND 1440),
  tightening_step TEXT NOT NULL,
  tightening_unit TEXT NOT NULL,
  flatness_limit TEXT NOT NULL,
  flatness_unit TEXT NOT NULL,
  wall_limit TEXT NOT NULL,
  wall_unit TEXT NOT NULL,
  skim_limit INTEGER NOT NULL CONSTRAINT plant_skims CHECK (skim_limit BETWEEN 0 AND 9),
  number_prefix TEXT NOT NULL CONSTRAINT plant_prefix CHECK (length(number_prefix) BETWEEN 1 AND 8),
  demo INTEGER NOT NULL DEFAULT 0 CONSTRAINT plant_demo CHECK (demo IN (0, 1)),
  version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE person (
  id INTEGER PRIMARY KEY,
  sign_in TEXT NOT NULL COLLATE NOCASE CONSTRAINT person_sign_in CHECK (length(sign_in) BETWEEN 2 AND 60),
  name TEXT NOT NULL CONSTRAINT person_name CHECK (length(trim(name)) BETWEEN 1 AND 120),
  role TEXT NOT NULL CONSTRAINT person_role CHECK (role IN ('technician', 'storekeeper', 'inspector', 'engineer', 'administrator')),
  password_hash TEXT,
  closed_at TEXT,
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT person_sign_in_unique UNIQUE (sign_in)
) STRICT;

-- An address that works once: the first administrator, a new person's first password, a reset.
CREATE TABLE one_time_address (
  token_hash BLOB PRIMARY KEY,
  purpose TEXT NOT NULL CONSTRAINT address_purpose CHECK (purpose IN ('first-administrator', 'set-password')),
  person_id INTEGER REFERENCES person (id),
  made_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  used_at TEXT
) STRICT;
CREATE INDEX one_time_address_person ON one_time_address (person_id);

CREATE TABLE session (
  token_hash BLOB PRIMARY KEY,
  person_id INTEGER NOT NULL REFERENCES person (id),
  started_at TEXT NOT NULL,
  seen_at TEXT NOT NULL,
  expires_at TEXT NOT NULL
) STRICT;
CREATE INDEX session_person ON session (person_id);
CREATE INDEX session_expiry ON session (expires_at);

CREATE TABLE sign_in_attempt (
  id INTEGER PRIMARY KEY,
  sign_in TEXT NOT NULL COLLATE NOCASE,
  at TEXT NOT NULL
) STRICT;
CREATE INDEX sign_in_attempt_recent ON sign_in_attempt (sign_in, at);

-- A posted form is done once: its key is kept with the answer it got, in the transaction of the deed.
CREATE TABLE form_key (
  key TEXT PRIMARY KEY,
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  answer TEXT NOT NULL
) STRICT;
CREATE INDEX form_key_at ON form_key (at);

CREATE TABLE area (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL COLLATE NOCASE CONSTRAINT area_name CHECK (length(trim(name)) BETWEEN 1 AND 60),
  CONSTRAINT area_name_unique UNIQUE (name)
) STRICT;

CREATE TABLE service_class (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL COLLATE NOCASE CONSTRAINT class_name CHECK (length(trim(name)) BETWEEN 1 AND 60),
  description TEXT NOT NULL DEFAULT '',
  rebuild_months INTEGER CONSTRAINT class_rebuild CHECK (rebuild_months BETWEEN 1 AND 240),
  look_over_months INTEGER CONSTRAINT class_look_over CHECK (look_over_months BETWEEN 1 AND 120),
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT class_name_unique UNIQUE (name)
) STRICT;

CREATE TABLE kit (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL COLLATE NOCASE CONSTRAINT kit_number CHECK (length(number) BETWEEN 1 AND 40),
  name TEXT NOT NULL CONSTRAINT kit_name CHECK (length(trim(name)) BETWEEN 1 AND 120),
  kind TEXT NOT NULL CONSTRAINT kit_kind CHECK (kind IN ('reflex', 'transparent')),
  glass_length_mm INTEGER CONSTRAINT kit_length CHECK (glass_length_mm BETWEEN 50 AND 1000),
  contents TEXT NOT NULL DEFAULT '',
  shelf_life_months INTEGER CONSTRAINT kit_shelf_life CHECK (shelf_life_months BETWEEN 1 AND 240),
  lead_days INTEGER NOT NULL CONSTRAINT kit_lead CHECK (lead_days BETWEEN 0 AND 1000),
  pack INTEGER NOT NULL DEFAULT 1 CONSTRAINT kit_pack CHECK (pack BETWEEN 1 AND 1000),
  minimum INTEGER NOT NULL DEFAULT 1 CONSTRAINT kit_minimum CHECK (minimum BETWEEN 1 AND 10000),
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT kit_number_unique UNIQUE (number)
) STRICT;

CREATE TABLE lot (
  id INTEGER PRIMARY KEY,
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  number TEXT NOT NULL COLLATE NOCASE CONSTRAINT lot_number CHECK (length(number) BETWEEN 1 AND 40),
  received_on TEXT NOT NULL CONSTRAINT lot_received CHECK (received_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  expires_on TEXT CONSTRAINT lot_expires CHECK (expires_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  place TEXT NOT NULL DEFAULT '',
  CONSTRAINT lot_number_unique UNIQUE (kit_id, number)
) STRICT;

CREATE TABLE instrument (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL COLLATE NOCASE CONSTRAINT instrument_number CHECK (length(number) BETWEEN 1 AND 40),
  kind TEXT NOT NULL CONSTRAINT instrument_kind CHECK (kind IN ('torque-wrench', 'caliper', 'depth-micrometer', 'dial-indicator', 'feeler-set', 'pressure-gauge', 'thermometer')),
  description TEXT NOT NULL DEFAULT '',
  range_low TEXT NOT NULL,
  range_high TEXT NOT NULL,
  unit TEXT NOT NULL,
  resolution TEXT,
  retired_at TEXT,
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT instrument_number_unique UNIQUE (number)
) STRICT;

CREATE TABLE calibration (
  id INTEGER PRIMARY KEY,
  instrument_id INTEGER NOT NULL REFERENCES instrument (id),
  calibrated_on TEXT NOT NULL CONSTRAINT calibration_on CHECK (calibrated_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  due_on TEXT NOT NULL CONSTRAINT calibration_due CHECK (due_on > calibrated_on),
  reference TEXT NOT NULL CONSTRAINT calibration_reference CHECK (length(trim(reference)) BETWEEN 1 AND 80),
  found TEXT NOT NULL CONSTRAINT calibration_found CHECK (found IN ('within-tolerance', 'out-of-tolerance')),
  note TEXT NOT NULL DEFAULT '',
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX calibration_latest ON calibration (instrument_id, calibrated_on DESC, id DESC);

CREATE TABLE gauge (
  id INTEGER PRIMARY KEY,
  tag TEXT NOT NULL COLLATE NOCASE CONSTRAINT gauge_tag CHECK (length(tag) BETWEEN 2 AND 40),
  area_id INTEGER NOT NULL REFERENCES area (id),
  service_class_id INTEGER NOT NULL REFERENCES service_class (id),
  vessel TEXT NOT NULL DEFAULT '',
  service TEXT NOT NULL DEFAULT '',
  standing TEXT NOT NULL CONSTRAINT gauge_standing CHECK (standing IN ('in-service', 'resting', 'retired')),
  kind TEXT NOT NULL CONSTRAINT gauge_kind CHECK (kind IN ('reflex', 'transparent')),
  sections INTEGER NOT NULL CONSTRAINT gauge_sections CHECK (sections BETWEEN 1 AND 12),
  bolts_per_rail INTEGER CONSTRAINT gauge_bolts CHECK (bolts_per_rail BETWEEN 1 AND 12),
  bolt_thread TEXT NOT NULL DEFAULT '',
  bolt_form TEXT NOT NULL DEFAULT 'bolts' CONSTRAINT gauge_bolt_form CHECK (bolt_form IN ('bolts', 'studs', 'u-bolts')),
  glass_length_mm INTEGER CONSTRAINT gauge_length CHECK (glass_length_mm BETWEEN 50 AND 1000),
  isolation TEXT NOT NULL CONSTRAINT gauge_isolation CHECK (isolation IN ('in-service', 'shutdown-only')),
  installed_on TEXT CONSTRAINT gauge_installed CHECK (installed_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  maker TEXT NOT NULL DEFAULT '',
  order_number TEXT NOT NULL DEFAULT '',
  stamped_kit_number TEXT NOT NULL DEFAULT '',
  body_material TEXT NOT NULL DEFAULT '',
  gasket_material TEXT NOT NULL DEFAULT '',
  glass_type TEXT NOT NULL DEFAULT '',
  rating_value TEXT,
  rating_unit TEXT,
  rating_temperature_value TEXT,
  rating_temperature_unit TEXT,
  torque_value TEXT,
  torque_unit TEXT,
  kit_id INTEGER REFERENCES kit (id),
  kits_per_rebuild INTEGER NOT NULL DEFAULT 1 CONSTRAINT gauge_kits CHECK (kits_per_rebuild BETWEEN 1 AND 48),
  note TEXT NOT NULL DEFAULT '',
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT gauge_tag_unique UNIQUE (tag),
  CONSTRAINT gauge_rating_pair CHECK ((rating_value IS NULL) = (rating_unit IS NULL)),
  CONSTRAINT gauge_temperature_pair CHECK ((rating_temperature_value IS NULL) = (rating_temperature_unit IS NULL)),
  CONSTRAINT gauge_torque_pair CHECK ((torque_value IS NULL) = (torque_unit IS NULL))
) STRICT;
CREATE INDEX gauge_by_area ON gauge (area_id, tag);
CREATE INDEX gauge_by_class ON gauge (service_class_id, tag);
CREATE INDEX gauge_by_kit ON gauge (kit_id, tag);
CREATE INDEX gauge_by_standing ON gauge (standing, tag);

-- Search over the words of a gauge: tag, vessel, service, maker, order number.
CREATE VIRTUAL TABLE gauge_words USING fts5 (tag, vessel, service, maker, order_number, content = 'gauge', content_rowid = 'id', prefix = '2 3', tokenize = "unicode61 tokenchars '-'");
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
CREATE TRIGGER gauge_kept BEFORE DELETE ON gauge BEGIN
  SELECT RAISE (ABORT, 'gauge-kept: a gauge is retired, never deleted');
END;

CREATE TABLE rating_point (
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  position INTEGER NOT NULL,
  temperature_value TEXT NOT NULL,
  temperature_unit TEXT NOT NULL,
  pressure_value TEXT NOT NULL,
  pressure_unit TEXT NOT NULL,
  PRIMARY KEY (gauge_id, position)
) STRICT, WITHOUT ROWID;

CREATE TABLE nameplate_photo (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  at TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  width INTEGER NOT NULL,
  height INTEGER NOT NULL,
  sha256 BLOB NOT NULL,
  jpeg BLOB NOT NULL,
  small_jpeg BLOB NOT NULL
) STRICT;
CREATE INDEX nameplate_photo_latest ON nameplate_photo (gauge_id, id DESC);

CREATE TABLE shutdown_window (
  id INTEGER PRIMARY KEY,
  area_id INTEGER NOT NULL REFERENCES area (id),
  name TEXT NOT NULL CONSTRAINT window_name CHECK (length(trim(name)) BETWEEN 1 AND 80),
  starts_on TEXT NOT NULL CONSTRAINT window_starts CHECK (starts_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  ends_on TEXT NOT NULL CONSTRAINT window_ends CHECK (ends_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT window_order CHECK (ends_on >= starts_on)
) STRICT;
CREATE INDEX shutdown_window_area ON shutdown_window (area_id, ends_on);

CREATE TABLE rebuild (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  ordinal INTEGER NOT NULL CONSTRAINT rebuild_ordinal CHECK (ordinal >= 1),
  state TEXT NOT NULL CONSTRAINT rebuild_state CHECK (state IN ('planned', 'ready', 'at-the-bench', 'on-test', 'returned', 'abandoned')),
  cause TEXT NOT NULL CONSTRAINT rebuild_cause CHECK (cause IN ('interval', 'leak', 'cracked-glass', 'clouded-glass', 'worn-face', 'recall', 'shutdown', 'other')),
  planned_for TEXT NOT NULL CONSTRAINT rebuild_planned_for CHECK (planned_for GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  planned_at TEXT NOT NULL,
  planned_by INTEGER NOT NULL REFERENCES person (id),
  note TEXT NOT NULL DEFAULT '',
  started_at TEXT,
  ended_on TEXT CONSTRAINT rebuild_ended CHECK (ended_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  ended_at TEXT,
  ended_by INTEGER REFERENCES person (id),
  abandoned_reason TEXT,
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT rebuild_ordinal_unique UNIQUE (gauge_id, ordinal),
  CONSTRAINT rebuild_end CHECK ((state IN ('returned', 'abandoned')) = (ended_on IS NOT NULL)),
  CONSTRAINT rebuild_reason CHECK (state <> 'abandoned' OR length(trim(abandoned_reason)) > 0)
) STRICT;
CREATE UNIQUE INDEX rebuild_open_once ON rebuild (gauge_id) WHERE state NOT IN ('returned', 'abandoned');
CREATE INDEX rebuild_open ON rebuild (state, planned_for) WHERE state NOT IN ('returned', 'abandoned');
CREATE TRIGGER rebuild_finished BEFORE UPDATE ON rebuild WHEN old.state IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: a finished rebuild is evidence and is not changed');
END;
CREATE TRIGGER rebuild_kept BEFORE DELETE ON rebuild BEGIN
  SELECT RAISE (ABORT, 'rebuild-kept: a rebuild is abandoned with a reason, never deleted');
END;

-- What people record during a rebuild. Append-only: a correction supersedes an earlier entry,
-- which stays readable.
CREATE TABLE bench_entry (
  id INTEGER PRIMARY KEY,
  rebuild_id INTEGER NOT NULL REFERENCES rebuild (id),
  topic TEXT NOT NULL CONSTRAINT entry_topic CHECK (topic IN ('made-safe', 'stripped', 'bolting', 'face', 'assembled', 'tightened', 'returned', 'remark')),
  section INTEGER CONSTRAINT entry_section CHECK (section BETWEEN 1 AND 12),
  facts TEXT NOT NULL CONSTRAINT entry_facts CHECK (json_valid(facts)),
  at TEXT NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  supersedes INTEGER REFERENCES bench_entry (id),
  CONSTRAINT entry_supersedes_unique UNIQUE (supersedes)
) STRICT;
CREATE INDEX bench_entry_rebuild ON bench_entry (rebuild_id, id);
CREATE TRIGGER bench_entry_open BEFORE INSERT ON bench_entry
WHEN (SELECT state FROM rebuild WHERE id = new.rebuild_id) IN ('returned', 'abandoned') BEGIN
  SELECT RAISE (ABORT, 'rebuild-finished: nothing is added to a finished rebuild');
END;
CREATE TRIGGER bench_entry_unchanged BEFORE UPDATE ON bench_entry BEGIN
  SELECT RAISE (ABORT, 'entry-unchanged: a bench entry is superseded, never changed');
END;
CREATE TRIGGER bench_entry_kept BEFORE DELETE ON bench_entry BEGIN
  SELECT RAISE (ABORT, 'entry-unchanged: a bench entry is superseded, never deleted');
END;

-- The stock ledger. Each line carries the balance of its lot after it; the balance is checked here,
-- so on hand is the last line of a lot and can never be negative.
CREATE TABLE stock_line (
  id INTEGER PRIMARY KEY,
  lot_id INTEGER NOT NULL REFERENCES lot (id),
  kind TEXT NOT NULL CONSTRAINT line_kind CHECK (kind IN ('receipt', 'issue', 'return', 'count', 'scrap')),
  quantity INTEGER NOT NULL,
  balance INTEGER NOT NULL CONSTRAINT line_balance CHECK (balance >= 0),
  at TEXT NOT NULL,
  on_date TEXT NOT NULL CONSTRAINT line_date CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  person_id INTEGER NOT NULL REFERENCES person (id),
  rebuild_id INTEGER REFERENCES rebuild (id),
  reason TEXT NOT NULL DEFAULT '',
  CONSTRAINT line_sign CHECK (
    (kind IN ('receipt', 'return') AND quantity > 0)
    OR (kind IN ('issue', 'scrap') AND quantity < 0)
    OR kind = 'count'
  ),
  CONSTRAINT line_issue CHECK (kind <> 'issue' OR rebuild_id IS NOT NULL OR length(reason) > 0)
) STRICT;
CREATE INDEX stock_line_lot ON stock_line (lot_id, id);
CREATE INDEX stock_line_rebuild ON stock_line (rebuild_id) WHERE rebuild_id IS NOT NULL;
CREATE INDEX lot_kit ON lot (kit_id, expires_on);
CREATE TRIGGER stock_line_balance BEFORE INSERT ON stock_line
WHEN new.balance <> new.quantity + COALESCE((SELECT balance FROM stock_line WHERE lot_id = new.lot_id ORDER BY id DESC LIMIT 1), 0) BEGIN
  SELECT RAISE (ABORT, 'stock-balance: the balance of the lot moved meanwhile');
END;
CREATE TRIGGER stock_line_unchanged BEFORE UPDATE ON stock_line BEGIN
  SELECT RAISE (ABORT, 'stock-unchanged: a stock line is never changed');
END;
CREATE TRIGGER stock_line_kept BEFORE DELETE ON stock_line BEGIN
  SELECT RAISE (ABORT, 'stock-unchanged: a stock line is never deleted');
END;

CREATE TABLE failure (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  seen_on TEXT NOT NULL CONSTRAINT failure_seen CHECK (seen_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  kind TEXT NOT NULL CONSTRAINT failure_kind CHECK (kind IN ('leak', 'cracked-glass', 'clouded-glass', 'stuck-valve', 'other')),
  note TEXT NOT NULL DEFAULT '',
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  rebuild_id INTEGER REFERENCES rebuild (id)
) STRICT;
CREATE INDEX failure_gauge ON failure (gauge_id, id DESC);
CREATE INDEX failure_open ON failure (gauge_id) WHERE rebuild_id IS NULL;
CREATE TRIGGER failure_unchanged BEFORE UPDATE ON failure
WHEN old.rebuild_id IS NOT NULL OR new.gauge_id <> old.gauge_id OR new.seen_on <> old.seen_on OR new.kind <> old.kind OR new.note <> old.note OR new.person_id <> old.person_id OR new.at <> old.at BEGIN
  SELECT RAISE (ABORT, 'failure-unchanged: a reported failure is answered by a rebuild, never changed');
END;
CREATE TRIGGER failure_kept BEFORE DELETE ON failure BEGIN
  SELECT RAISE (ABORT, 'failure-unchanged: a reported failure is never deleted');
END;

CREATE TABLE look_over (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  on_date TEXT NOT NULL CONSTRAINT look_over_on CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  found TEXT NOT NULL CONSTRAINT look_over_found CHECK (found IN ('sound', 'watch', 'failure')),
  note TEXT NOT NULL DEFAULT '',
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX look_over_gauge ON look_over (gauge_id, on_date DESC);
CREATE TRIGGER look_over_unchanged BEFORE UPDATE ON look_over BEGIN
  SELECT RAISE (ABORT, 'look-over-unchanged: a look-over is never changed');
END;
CREATE TRIGGER look_over_kept BEFORE DELETE ON look_over BEGIN
  SELECT RAISE (ABORT, 'look-over-unchanged: a look-over is never deleted');
END;

CREATE TABLE deferral (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  until_on TEXT NOT NULL CONSTRAINT deferral_until CHECK (until_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  hard_limit_on TEXT NOT NULL CONSTRAINT deferral_limit CHECK (hard_limit_on >= until_on),
  reason TEXT NOT NULL CONSTRAINT deferral_reason CHECK (length(trim(reason)) BETWEEN 3 AND 2000),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX deferral_gauge ON deferral (gauge_id, id DESC);
CREATE TRIGGER deferral_unchanged BEFORE UPDATE ON deferral BEGIN
  SELECT RAISE (ABORT, 'deferral-unchanged: a signed deferral is never changed');
END;
CREATE TRIGGER deferral_kept BEFORE DELETE ON deferral BEGIN
  SELECT RAISE (ABORT, 'deferral-unchanged: a signed deferral is never deleted');
END;

CREATE TABLE pressure_test (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL CONSTRAINT test_number CHECK (length(number) BETWEEN 1 AND 40),
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  rebuild_id INTEGER REFERENCES rebuild (id),
  tested_on TEXT NOT NULL CONSTRAINT test_on CHECK (tested_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  result TEXT NOT NULL CONSTRAINT test_result CHECK (result IN ('passed', 'failed')),
  facts TEXT NOT NULL CONSTRAINT test_facts CHECK (json_valid(facts)),
  instrument_id INTEGER NOT NULL REFERENCES instrument (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT test_number_unique UNIQUE (number)
) STRICT;
CREATE INDEX pressure_test_gauge ON pressure_test (gauge_id, id DESC);
CREATE INDEX pressure_test_rebuild ON pressure_test (rebuild_id, id DESC);
CREATE TRIGGER pressure_test_unchanged BEFORE UPDATE ON pressure_test BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: a pressure test is evidence and is not changed');
END;
CREATE TRIGGER pressure_test_kept BEFORE DELETE ON pressure_test BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: a pressure test is never deleted');
END;

CREATE TABLE witnessing (
  test_id INTEGER PRIMARY KEY REFERENCES pressure_test (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE TRIGGER witnessing_unchanged BEFORE UPDATE ON witnessing BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: a witnessing is never changed');
END;
CREATE TRIGGER witnessing_kept BEFORE DELETE ON witnessing BEGIN
  SELECT RAISE (ABORT, 'test-unchanged: a witnessing is never deleted');
END;

CREATE TABLE certificate (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL CONSTRAINT certificate_number CHECK (length(number) BETWEEN 1 AND 40),
  test_id INTEGER NOT NULL REFERENCES pressure_test (id),
  issued_by INTEGER NOT NULL REFERENCES person (id),
  issued_at TEXT NOT NULL,
  record TEXT NOT NULL CONSTRAINT certificate_record CHECK (json_valid(record)),
  sha256 TEXT NOT NULL CONSTRAINT certificate_hash CHECK (length(sha256) = 64),
  CONSTRAINT certificate_number_unique UNIQUE (number),
  CONSTRAINT certificate_test_unique UNIQUE (test_id)
) STRICT;
CREATE TRIGGER certificate_unchanged BEFORE UPDATE ON certificate BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: an issued certificate is never changed');
END;
CREATE TRIGGER certificate_kept BEFORE DELETE ON certificate BEGIN
  SELECT RAISE (ABORT, 'certificate-unchanged: an issued certificate is never deleted');
END;

-- Which instrument a rebuild or a test relied on, so that a faulty one can be traced.
CREATE TABLE instrument_use (
  id INTEGER PRIMARY KEY,
  instrument_id INTEGER NOT NULL REFERENCES instrument (id),
  rebuild_id INTEGER REFERENCES rebuild (id),
  test_id INTEGER REFERENCES pressure_test (id),
  used_on TEXT NOT NULL,
  CONSTRAINT use_of CHECK (rebuild_id IS NOT NULL OR test_id IS NOT NULL)
) STRICT;
CREATE INDEX instrument_use_instrument ON instrument_use (instrument_id, used_on);
CREATE INDEX instrument_use_rebuild ON instrument_use (rebuild_id);
CREATE TRIGGER instrument_use_unchanged BEFORE UPDATE ON instrument_use BEGIN
  SELECT RAISE (ABORT, 'use-unchanged: the use of an instrument is never changed');
END;
CREATE TRIGGER instrument_use_kept BEFORE DELETE ON instrument_use BEGIN
  SELECT RAISE (ABORT, 'use-unchanged: the use of an instrument is never deleted');
END;

-- A plant's list on its way into the register: the file as it came and how its columns were matched.
CREATE TABLE bring_in (
  id INTEGER PRIMARY KEY,
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  file_name TEXT NOT NULL,
  bytes BLOB NOT NULL,
  matching TEXT CONSTRAINT bring_in_matching CHECK (matching IS NULL OR json_valid(matching)),
  accepted_at TEXT,
  accepted_rows INTEGER
) STRICT;
CREATE INDEX bring_in_at ON bring_in (at);

-- The audit chain. hash = SHA-256(previous, canonical text of the line); see record/audit.rs.
CREATE TABLE audit (
  id INTEGER PRIMARY KEY,
  at TEXT NOT NULL,
  person_id INTEGER REFERENCES person (id),
  who TEXT NOT NULL,
  deed TEXT NOT NULL,
  subject TEXT NOT NULL,
  gauge_id INTEGER REFERENCES gauge (id),
  facts TEXT NOT NULL CONSTRAINT audit_facts CHECK (json_valid(facts)),
  hash BLOB NOT NULL CONSTRAINT audit_hash CHECK (length(hash) = 32)
) STRICT;
CREATE INDEX audit_gauge ON audit (gauge_id, id DESC) WHERE gauge_id IS NOT NULL;
CREATE INDEX audit_subject ON audit (subject, id DESC);
CREATE TRIGGER audit_unchanged BEFORE UPDATE ON audit BEGIN
  SELECT RAISE (ABORT, 'audit-unchanged: an audit line is never changed');
END;
CREATE TRIGGER audit_kept BEFORE DELETE ON audit BEGIN
  SELECT RAISE (ABORT, 'audit-unchanged: an audit line is never deleted');
END;

-- A projection, written inside acts from calc::due and recomputed by verify. Dates only: what is
-- overdue is decided by the reader's today.
CREATE TABLE due (
  gauge_id INTEGER PRIMARY KEY REFERENCES gauge (id),
  area_id INTEGER NOT NULL REFERENCES area (id),
  rule TEXT NOT NULL,
  date TEXT NOT NULL CONSTRAINT due_date CHECK (date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  latest_on TEXT NOT NULL CONSTRAINT due_latest CHECK (latest_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  pull TEXT NOT NULL CONSTRAINT due_pull CHECK (pull IN ('not-needed', 'pulled', 'no-window')),
  since_on TEXT
) STRICT;
CREATE INDEX due_latest ON due (latest_on, gauge_id);
CREATE INDEX due_area ON due (area_id, latest_on, gauge_id);
CREATE INDEX due_rule ON due (rule, latest_on, gauge_id);
