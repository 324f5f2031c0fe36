-- Finished work shows the name its person had when they did it: the audit line of the deed carries
-- it, and is found by person and moment.
CREATE INDEX audit_person ON audit (person_id, at) WHERE person_id IS NOT NULL;
