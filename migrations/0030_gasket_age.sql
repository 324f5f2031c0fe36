-- How old the gaskets of a kit may become in service, with the ground it stands on. They age from the
-- day the gauge was last returned to service, or first installed.

CREATE TABLE gasket_age (
  id INTEGER PRIMARY KEY REFERENCES kit (id),
  months INTEGER CONSTRAINT gasket_age_months CHECK (months BETWEEN 1 AND 600),
  ground TEXT NOT NULL CONSTRAINT gasket_age_ground CHECK (length(trim(ground)) BETWEEN 3 AND 500),
  version INTEGER NOT NULL DEFAULT 1
) STRICT;
