-- Recalls: an instrument found out of tolerance, or a lot of kits found bad, what was decided about
-- each thing that relied on it, and the marks put on certificates.
-- Every RAISE text begins with a key that store/mod.rs translates into plain words.

-- A recall is counted through the plant from 1 and never deleted, so its row is its number.
CREATE TABLE recall (
  id INTEGER PRIMARY KEY,
  instrument_id INTEGER REFERENCES instrument (id),
  lot_id INTEGER REFERENCES lot (id),
  -- The last day it was known to be good; what was used from that day on is in doubt. NULL where
  -- it never was, then everything is.
  since_on TEXT CONSTRAINT recall_since CHECK (since_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  until_on TEXT NOT NULL CONSTRAINT recall_until CHECK (until_on GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  reason TEXT NOT NULL CONSTRAINT recall_reason CHECK (length(trim(reason)) BETWEEN 3 AND 2000),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT recall_of_one CHECK ((instrument_id IS NULL) <> (lot_id IS NULL)),
  CONSTRAINT recall_order CHECK (since_on IS NULL OR since_on <= until_on)
) STRICT;
CREATE INDEX recall_instrument ON recall (instrument_id, id DESC) WHERE instrument_id IS NOT NULL;
CREATE INDEX recall_lot ON recall (lot_id, id DESC) WHERE lot_id IS NOT NULL;
CREATE TRIGGER recall_unchanged BEFORE UPDATE ON recall BEGIN
  SELECT RAISE (ABORT, 'recall-unchanged: a recall is evidence and is not changed');
END;
CREATE TRIGGER recall_kept BEFORE DELETE ON recall BEGIN
  SELECT RAISE (ABORT, 'recall-unchanged: a recall is never deleted');
END;

-- What an engineer decided about one thing that relied on it: a rebuild, a pressure test, or (with
-- neither) what is left of the lot in the storeroom. The latest decision about a thing counts.
CREATE TABLE recall_decision (
  id INTEGER PRIMARY KEY,
  recall_id INTEGER NOT NULL REFERENCES recall (id),
  rebuild_id INTEGER REFERENCES rebuild (id),
  test_id INTEGER REFERENCES pressure_test (id),
  gauge_id INTEGER REFERENCES gauge (id),
  decision TEXT NOT NULL CONSTRAINT decision_word CHECK (decision IN ('stands', 'repeat')),
  reason TEXT NOT NULL CONSTRAINT decision_reason CHECK (length(trim(reason)) BETWEEN 3 AND 2000),
  on_date TEXT NOT NULL CONSTRAINT decision_on CHECK (on_date GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL,
  CONSTRAINT decision_about CHECK (rebuild_id IS NULL OR test_id IS NULL),
  CONSTRAINT decision_gauge CHECK ((gauge_id IS NULL) = (rebuild_id IS NULL AND test_id IS NULL))
) STRICT;
CREATE INDEX recall_decision_recall ON recall_decision (recall_id, id);
CREATE INDEX recall_decision_gauge ON recall_decision (gauge_id, at) WHERE decision = 'repeat';
CREATE TRIGGER recall_decision_unchanged BEFORE UPDATE ON recall_decision BEGIN
  SELECT RAISE (ABORT, 'recall-unchanged: a decision is never changed; decide again');
END;
CREATE TRIGGER recall_decision_kept BEFORE DELETE ON recall_decision BEGIN
  SELECT RAISE (ABORT, 'recall-unchanged: a decision is never deleted');
END;

-- What was said about a certificate after it was issued. The certificate itself stays as it is.
CREATE TABLE certificate_mark (
  id INTEGER PRIMARY KEY,
  certificate_id INTEGER NOT NULL REFERENCES certificate (id),
  kind TEXT NOT NULL CONSTRAINT mark_kind CHECK (kind IN ('questioned', 'stands', 'withdrawn')),
  reason TEXT NOT NULL CONSTRAINT mark_reason CHECK (length(trim(reason)) BETWEEN 3 AND 2000),
  recall_id INTEGER REFERENCES recall (id),
  person_id INTEGER NOT NULL REFERENCES person (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX certificate_mark_certificate ON certificate_mark (certificate_id, id);
CREATE TRIGGER certificate_mark_final BEFORE INSERT ON certificate_mark
WHEN EXISTS (SELECT 1 FROM certificate_mark WHERE certificate_id = new.certificate_id AND kind = 'withdrawn') BEGIN
  SELECT RAISE (ABORT, 'mark-unchanged: a withdrawn certificate stays withdrawn; the gauge is tested again');
END;
CREATE TRIGGER certificate_mark_unchanged BEFORE UPDATE ON certificate_mark BEGIN
  SELECT RAISE (ABORT, 'mark-unchanged: a mark on a certificate is never changed; add another');
END;
CREATE TRIGGER certificate_mark_kept BEFORE DELETE ON certificate_mark BEGIN
  SELECT RAISE (ABORT, 'mark-unchanged: a mark on a certificate is never deleted');
END;
