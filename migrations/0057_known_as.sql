-- Who did what under which name.
-- A test entered from paper: who made it and when, beside who entered it.

ALTER TABLE pressure_test ADD COLUMN done_at TEXT;
ALTER TABLE pressure_test ADD COLUMN done_by INTEGER REFERENCES person (id);

-- Under which name a person did what they did at a moment: a row a name, from when until when. It is
-- made from the audit lines and follows every change of a name; `verify` holds it against them.

CREATE TABLE known_as (
  person_id INTEGER NOT NULL REFERENCES person (id),
  -- The first name counts from before anything.
  since TEXT NOT NULL,
  -- The name of today ends with the calendar.
  until TEXT NOT NULL,
  name TEXT NOT NULL,
  PRIMARY KEY (person_id, since)
) STRICT, WITHOUT ROWID;

WITH renamed AS (
  SELECT p.id AS person_id, a.at, a.facts ->> '$.before.name' AS before, a.facts ->> '$.after.name' AS after,
    row_number() OVER (PARTITION BY p.id ORDER BY a.id) AS turn,
    row_number() OVER (PARTITION BY p.id, a.at ORDER BY a.id DESC) AS later
  FROM person p JOIN audit a ON a.subject = 'person ' || p.sign_in
  WHERE a.deed = 'changed' AND a.facts ->> '$.before.name' <> a.facts ->> '$.after.name'
), said AS (
  SELECT p.id AS person_id, '' AS since, coalesce((SELECT r.before FROM renamed r WHERE r.person_id = p.id AND r.turn = 1), p.name) AS name
  FROM person p
  UNION ALL
  SELECT person_id, at, after FROM renamed WHERE later = 1
)
INSERT INTO known_as (person_id, since, until, name)
SELECT person_id, since, coalesce(lead(since) OVER (PARTITION BY person_id ORDER BY since), '9999-12-31T23:59:59.999Z'), name
FROM said;

CREATE TRIGGER person_known_as AFTER INSERT ON person BEGIN
  INSERT INTO known_as (person_id, since, until, name) VALUES (new.id, '', '9999-12-31T23:59:59.999Z', new.name);
END;

-- Names are no longer looked for among the audit lines.
DROP INDEX audit_person;
