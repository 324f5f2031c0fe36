-- The certificates in question, and the withdrawn ones, are found among the marks and not by walking every
-- certificate.
CREATE INDEX certificate_mark_kind ON certificate_mark (kind, certificate_id);
