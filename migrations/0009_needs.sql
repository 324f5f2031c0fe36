-- What to buy by which day: the open rebuild behind each need, what failures have to be expected,
-- how each kit is ordered and safely stocked, and orders from draft to the last receipt.
-- Every RAISE text begins with a key that store/refusals.rs translates into plain words.

-- The open rebuild whose planned day set the date of a need: these kits are reserved.
ALTER TABLE kit_need ADD COLUMN rebuild_id INTEGER REFERENCES rebuild (id);
CREATE INDEX kit_need_reserved ON kit_need (kit_id, on_date, gauge_id, kits) WHERE rebuild_id IS NOT NULL;

-- Which rules the projections of due dates and needs were made with; older ones are made anew at the
-- next start.
CREATE TABLE projection_rules (
  id INTEGER PRIMARY KEY CONSTRAINT one_projection CHECK (id = 1),
  version INTEGER NOT NULL
) STRICT;
INSERT INTO projection_rules (id, version) VALUES (1, 0);

-- What the storeroom's keepers chose for every kit that has nothing of its own.
CREATE TABLE storeroom_rule (
  id INTEGER PRIMARY KEY CONSTRAINT one_storeroom CHECK (id = 1),
  service_level TEXT NOT NULL,
  review_days INTEGER NOT NULL CONSTRAINT rule_review CHECK (review_days BETWEEN 0 AND 366),
  currency TEXT NOT NULL DEFAULT '' CONSTRAINT rule_currency CHECK (length(currency) <= 8),
  version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- What one kit costs, who supplies it, and how safely it is stocked.
CREATE TABLE kit_terms (
  id INTEGER PRIMARY KEY REFERENCES kit (id),
  cost TEXT,
  supplier TEXT NOT NULL DEFAULT '' CONSTRAINT terms_supplier CHECK (length(supplier) <= 120),
  service_level TEXT,
  review_days INTEGER CONSTRAINT terms_review CHECK (review_days BETWEEN 0 AND 366),
  version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Failures per gauge and year as somebody states them, with the ground; stands before the record.
CREATE TABLE class_rate (
  id INTEGER PRIMARY KEY REFERENCES service_class (id),
  failures_per_year TEXT NOT NULL,
  ground TEXT NOT NULL CONSTRAINT rate_ground CHECK (length(trim(ground)) BETWEEN 3 AND 500),
  version INTEGER NOT NULL DEFAULT 1
) STRICT;

-- Counts kept by triggers, so that asking what failures want of a kit never walks the fleet: gauges
-- in service by class, by class and kit and kits for a rebuild, and failures by class and month.
CREATE TABLE class_count (
  service_class_id INTEGER PRIMARY KEY REFERENCES service_class (id),
  gauges INTEGER NOT NULL CONSTRAINT class_count_not_negative CHECK (gauges >= 0)
) STRICT;
CREATE TABLE class_kit (
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  service_class_id INTEGER NOT NULL REFERENCES service_class (id),
  kits INTEGER NOT NULL,
  gauges INTEGER NOT NULL CONSTRAINT class_kit_not_negative CHECK (gauges >= 0),
  PRIMARY KEY (kit_id, service_class_id, kits)
) STRICT, WITHOUT ROWID;
CREATE TABLE class_failures (
  service_class_id INTEGER NOT NULL REFERENCES service_class (id),
  month TEXT NOT NULL,
  failures INTEGER NOT NULL,
  PRIMARY KEY (service_class_id, month)
) STRICT, WITHOUT ROWID;

INSERT INTO class_count (service_class_id, gauges)
SELECT service_class_id, count(*) FROM gauge WHERE standing = 'in-service' GROUP BY 1;
INSERT INTO class_kit (kit_id, service_class_id, kits, gauges)
SELECT kit_id, service_class_id, kits_per_rebuild, count(*) FROM gauge
WHERE standing = 'in-service' AND kit_id IS NOT NULL GROUP BY 1, 2, 3;
INSERT INTO class_failures (service_class_id, month, failures)
SELECT g.service_class_id, substr(f.seen_on, 1, 7), count(*) FROM failure f JOIN gauge g ON g.id = f.gauge_id
WHERE f.kind <> 'stuck-valve' GROUP BY 1, 2;

CREATE TRIGGER class_counted AFTER INSERT ON gauge WHEN new.standing = 'in-service' BEGIN
  INSERT INTO class_count (service_class_id, gauges) VALUES (new.service_class_id, 1)
  ON CONFLICT (service_class_id) DO UPDATE SET gauges = gauges + 1;
  INSERT INTO class_kit (kit_id, service_class_id, kits, gauges)
  SELECT new.kit_id, new.service_class_id, new.kits_per_rebuild, 1 WHERE new.kit_id IS NOT NULL
  ON CONFLICT (kit_id, service_class_id, kits) DO UPDATE SET gauges = gauges + 1;
END;
CREATE TRIGGER class_uncounted AFTER UPDATE OF standing, service_class_id, kit_id, kits_per_rebuild ON gauge
WHEN old.standing = 'in-service' BEGIN
  UPDATE class_count SET gauges = gauges - 1 WHERE service_class_id = old.service_class_id;
  UPDATE class_kit SET gauges = gauges - 1
  WHERE kit_id = old.kit_id AND service_class_id = old.service_class_id AND kits = old.kits_per_rebuild;
  DELETE FROM class_kit
  WHERE kit_id = old.kit_id AND service_class_id = old.service_class_id AND kits = old.kits_per_rebuild AND gauges = 0;
END;
CREATE TRIGGER class_recounted AFTER UPDATE OF standing, service_class_id, kit_id, kits_per_rebuild ON gauge
WHEN new.standing = 'in-service' BEGIN
  INSERT INTO class_count (service_class_id, gauges) VALUES (new.service_class_id, 1)
  ON CONFLICT (service_class_id) DO UPDATE SET gauges = gauges + 1;
  INSERT INTO class_kit (kit_id, service_class_id, kits, gauges)
  SELECT new.kit_id, new.service_class_id, new.kits_per_rebuild, 1 WHERE new.kit_id IS NOT NULL
  ON CONFLICT (kit_id, service_class_id, kits) DO UPDATE SET gauges = gauges + 1;
END;
CREATE TRIGGER class_failed AFTER INSERT ON failure WHEN new.kind <> 'stuck-valve' BEGIN
  INSERT INTO class_failures (service_class_id, month, failures)
  SELECT service_class_id, substr(new.seen_on, 1, 7), 1 FROM gauge WHERE id = new.gauge_id
  ON CONFLICT (service_class_id, month) DO UPDATE SET failures = failures + 1;
END;

-- Orders. What is awaited of a line counts towards what will be there; it goes down with each receipt.
CREATE TABLE kit_order (
  id INTEGER PRIMARY KEY,
  number TEXT NOT NULL CONSTRAINT order_number CHECK (length(number) BETWEEN 1 AND 40),
  state TEXT NOT NULL CONSTRAINT order_state CHECK (state IN ('draft', 'placed', 'received', 'withdrawn')),
  supplier TEXT NOT NULL DEFAULT '' CONSTRAINT order_supplier CHECK (length(supplier) <= 120),
  reference TEXT NOT NULL DEFAULT '' CONSTRAINT order_reference CHECK (length(reference) <= 80),
  note TEXT NOT NULL DEFAULT '',
  made_on TEXT NOT NULL,
  made_by INTEGER NOT NULL REFERENCES person (id),
  placed_on TEXT CONSTRAINT order_placed_on CHECK (placed_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  closed_on TEXT,
  withdrawn_reason TEXT,
  version INTEGER NOT NULL DEFAULT 1,
  CONSTRAINT order_number_unique UNIQUE (number),
  CONSTRAINT order_placed CHECK (state IN ('draft', 'withdrawn') OR placed_on IS NOT NULL)
) STRICT;
CREATE INDEX kit_order_state ON kit_order (state, id);
CREATE TRIGGER order_kept BEFORE DELETE ON kit_order BEGIN
  SELECT RAISE (ABORT, 'order-kept: an order is withdrawn with a reason, never deleted');
END;
CREATE TRIGGER order_closed BEFORE UPDATE ON kit_order WHEN old.state IN ('received', 'withdrawn') BEGIN
  SELECT RAISE (ABORT, 'order-kept: an order that is closed is not changed');
END;

CREATE TABLE kit_order_line (
  id INTEGER PRIMARY KEY,
  order_id INTEGER NOT NULL REFERENCES kit_order (id),
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  quantity INTEGER NOT NULL CONSTRAINT order_line_quantity CHECK (quantity BETWEEN 1 AND 100000),
  cost TEXT,
  promised_on TEXT CONSTRAINT order_line_promised CHECK (promised_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  awaited INTEGER NOT NULL DEFAULT 0 CONSTRAINT order_line_awaited CHECK (awaited BETWEEN 0 AND quantity),
  CONSTRAINT order_line_unique UNIQUE (order_id, kit_id)
) STRICT;
CREATE INDEX kit_order_line_awaited ON kit_order_line (kit_id, promised_on) WHERE awaited > 0;
CREATE INDEX kit_order_line_promised ON kit_order_line (promised_on, id) WHERE awaited > 0;
CREATE TRIGGER order_line_kept BEFORE DELETE ON kit_order_line
WHEN (SELECT state FROM kit_order WHERE id = old.order_id) IS NOT 'draft' BEGIN
  SELECT RAISE (ABORT, 'order-kept: a line of an order that was placed is withdrawn, never deleted');
END;

-- Which ledger line answered which line of an order.
CREATE TABLE order_receipt (
  id INTEGER PRIMARY KEY,
  line_id INTEGER NOT NULL REFERENCES kit_order_line (id),
  stock_line_id INTEGER NOT NULL REFERENCES stock_line (id),
  quantity INTEGER NOT NULL CONSTRAINT order_receipt_quantity CHECK (quantity >= 1),
  CONSTRAINT order_receipt_unique UNIQUE (stock_line_id)
) STRICT;
CREATE INDEX order_receipt_line ON order_receipt (line_id, id);
CREATE TRIGGER order_receipt_unchanged BEFORE UPDATE ON order_receipt BEGIN
  SELECT RAISE (ABORT, 'order-kept: what came of an order is evidence and is not changed');
END;
CREATE TRIGGER order_receipt_kept BEFORE DELETE ON order_receipt BEGIN
  SELECT RAISE (ABORT, 'order-kept: what came of an order is never deleted');
END;

-- What to order of each kit, as lists are sorted by it: dates and counts, written from calc::needs in
-- the transaction of the fact that moved them. `stale` is set by triggers and cleared by reckoning.
CREATE TABLE kit_outlook (
  kit_id INTEGER PRIMARY KEY REFERENCES kit (id),
  stale INTEGER NOT NULL DEFAULT 1 CONSTRAINT outlook_stale CHECK (stale IN (0, 1)),
  reckoned_on TEXT NOT NULL DEFAULT '',
  order_by TEXT,
  short_on TEXT,
  quantity INTEGER NOT NULL DEFAULT 0,
  usable INTEGER NOT NULL DEFAULT 0,
  on_the_way INTEGER NOT NULL DEFAULT 0,
  planned INTEGER NOT NULL DEFAULT 0,
  cover INTEGER NOT NULL DEFAULT 0,
  until_on TEXT
) STRICT;
CREATE INDEX kit_outlook_order ON kit_outlook (order_by, kit_id) WHERE order_by IS NOT NULL;
CREATE INDEX kit_outlook_stale ON kit_outlook (kit_id) WHERE stale = 1;
CREATE INDEX kit_outlook_reckoned ON kit_outlook (reckoned_on);
INSERT INTO kit_outlook (kit_id) SELECT id FROM kit;
CREATE TRIGGER kit_outlook_new AFTER INSERT ON kit BEGIN
  INSERT INTO kit_outlook (kit_id) VALUES (new.id);
END;
CREATE TRIGGER kit_outlook_kit AFTER UPDATE ON kit BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_ledger AFTER INSERT ON stock_line BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = (SELECT kit_id FROM lot WHERE id = new.lot_id) AND stale = 0;
END;
CREATE TRIGGER kit_outlook_lot AFTER UPDATE OF expires_on ON lot BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_need_added AFTER INSERT ON kit_need WHEN new.kit_id IS NOT NULL BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_need_removed AFTER DELETE ON kit_need WHEN old.kit_id IS NOT NULL BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = old.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_need_changed AFTER UPDATE ON kit_need BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id IN (old.kit_id, new.kit_id) AND stale = 0;
END;
CREATE TRIGGER kit_outlook_order_line AFTER UPDATE ON kit_order_line BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.kit_id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_failed AFTER INSERT ON failure BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = (SELECT kit_id FROM gauge WHERE id = new.gauge_id) AND stale = 0;
END;
CREATE TRIGGER kit_outlook_terms_new AFTER INSERT ON kit_terms BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_terms AFTER UPDATE ON kit_terms BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE kit_id = new.id AND stale = 0;
END;
CREATE TRIGGER kit_outlook_rules_new AFTER INSERT ON storeroom_rule BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE stale = 0;
END;
CREATE TRIGGER kit_outlook_rules AFTER UPDATE ON storeroom_rule BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE stale = 0;
END;
CREATE TRIGGER kit_outlook_rate_new AFTER INSERT ON class_rate BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE stale = 0;
END;
CREATE TRIGGER kit_outlook_rate AFTER UPDATE ON class_rate BEGIN
  UPDATE kit_outlook SET stale = 1 WHERE stale = 0;
END;

-- Kits that may stand in for one another, with what has to be minded.
CREATE TABLE kit_alternative (
  id INTEGER PRIMARY KEY,
  kit_id INTEGER NOT NULL REFERENCES kit (id),
  other_id INTEGER NOT NULL REFERENCES kit (id),
  note TEXT NOT NULL CONSTRAINT alternative_note CHECK (length(trim(note)) BETWEEN 3 AND 500),
  CONSTRAINT alternative_unique UNIQUE (kit_id, other_id),
  CONSTRAINT alternative_other CHECK (kit_id <> other_id)
) STRICT;

-- The papers that came with a lot: material certificates, declarations, delivery notes.
CREATE TABLE lot_document (
  id INTEGER PRIMARY KEY,
  lot_id INTEGER NOT NULL REFERENCES lot (id),
  title TEXT NOT NULL CONSTRAINT document_title CHECK (length(trim(title)) BETWEEN 1 AND 120),
  media_type TEXT NOT NULL CONSTRAINT document_media CHECK (media_type IN ('application/pdf', 'image/jpeg', 'image/png')),
  sha256 BLOB NOT NULL,
  bytes BLOB NOT NULL,
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX lot_document_lot ON lot_document (lot_id, id);
CREATE TRIGGER lot_document_unchanged BEFORE UPDATE ON lot_document BEGIN
  SELECT RAISE (ABORT, 'document-kept: a paper of a lot is evidence and is not changed');
END;
CREATE TRIGGER lot_document_kept BEFORE DELETE ON lot_document BEGIN
  SELECT RAISE (ABORT, 'document-kept: a paper of a lot is never deleted');
END;

-- Lots are found by what their label says, whichever kit they are of.
CREATE INDEX lot_by_number ON lot (number);

-- Planning a window: hours at the bench, and the gauges chosen into it.
ALTER TABLE shutdown_window ADD COLUMN bench_hours TEXT;
ALTER TABLE shutdown_window ADD COLUMN hours_gauge TEXT;
ALTER TABLE shutdown_window ADD COLUMN hours_section TEXT;
CREATE TABLE window_choice (
  id INTEGER PRIMARY KEY,
  window_id INTEGER NOT NULL REFERENCES shutdown_window (id),
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT window_choice_unique UNIQUE (window_id, gauge_id)
) STRICT;
CREATE INDEX window_choice_gauge ON window_choice (gauge_id);

-- A deferral is asked for by one person and signed by another.
ALTER TABLE deferral ADD COLUMN risk TEXT;
ALTER TABLE deferral ADD COLUMN mitigations TEXT;
ALTER TABLE deferral ADD COLUMN asked_by INTEGER REFERENCES person (id);
CREATE TABLE deferral_request (
  id INTEGER PRIMARY KEY,
  gauge_id INTEGER NOT NULL REFERENCES gauge (id),
  until_on TEXT NOT NULL CONSTRAINT request_until CHECK (until_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  hard_limit_on TEXT NOT NULL CONSTRAINT request_limit CHECK (hard_limit_on >= until_on),
  reason TEXT NOT NULL CONSTRAINT request_reason CHECK (length(trim(reason)) BETWEEN 3 AND 2000),
  risk TEXT NOT NULL CONSTRAINT request_risk CHECK (length(trim(risk)) BETWEEN 3 AND 2000),
  mitigations TEXT NOT NULL CONSTRAINT request_mitigations CHECK (length(trim(mitigations)) BETWEEN 3 AND 2000),
  asked_by INTEGER NOT NULL REFERENCES person (id),
  asked_at TEXT NOT NULL,
  decision TEXT CONSTRAINT request_decision CHECK (decision IN ('signed', 'refused', 'taken-back')),
  decided_by INTEGER REFERENCES person (id),
  decided_at TEXT,
  decision_note TEXT NOT NULL DEFAULT '',
  CONSTRAINT request_by_another CHECK (decision IS NULL OR decision <> 'signed' OR decided_by <> asked_by)
) STRICT;
CREATE UNIQUE INDEX deferral_request_open ON deferral_request (gauge_id) WHERE decision IS NULL;
CREATE INDEX deferral_request_gauge ON deferral_request (gauge_id, id);
CREATE TRIGGER deferral_request_unchanged BEFORE UPDATE ON deferral_request
WHEN old.decision IS NOT NULL OR new.gauge_id <> old.gauge_id OR new.until_on <> old.until_on
  OR new.hard_limit_on <> old.hard_limit_on OR new.reason <> old.reason OR new.risk <> old.risk
  OR new.mitigations <> old.mitigations OR new.asked_by <> old.asked_by OR new.asked_at <> old.asked_at BEGIN
  SELECT RAISE (ABORT, 'deferral-unchanged: a deferral that was asked for is decided, never changed');
END;
CREATE TRIGGER deferral_request_kept BEFORE DELETE ON deferral_request BEGIN
  SELECT RAISE (ABORT, 'deferral-unchanged: a deferral that was asked for is never deleted');
END;

-- Private addresses under which a calendar program reads the plant's days; only their hash is kept.
CREATE TABLE calendar_feed (
  id INTEGER PRIMARY KEY,
  person_id INTEGER NOT NULL REFERENCES person (id),
  token_hash BLOB NOT NULL,
  area_id INTEGER REFERENCES area (id),
  made_at TEXT NOT NULL,
  revoked_at TEXT,
  CONSTRAINT calendar_feed_unique UNIQUE (token_hash)
) STRICT;
CREATE INDEX calendar_feed_person ON calendar_feed (person_id);
CREATE INDEX rebuild_by_planned_day ON rebuild (planned_for, gauge_id) WHERE state NOT IN ('returned', 'abandoned');
