-- Why what to order of a kit could not be reckoned when it was tried last. A kit that was tried is not
-- tried again before something moves or a day begins, so that it holds nobody else up.
ALTER TABLE kit_outlook ADD COLUMN refused TEXT;
CREATE INDEX kit_outlook_refused ON kit_outlook (kit_id) WHERE refused IS NOT NULL;
