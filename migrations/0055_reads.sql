-- In which units somebody reads figures beside what was stamped; none: as stamped only.
ALTER TABLE person ADD COLUMN reads TEXT CONSTRAINT person_reads CHECK (reads IN ('us-customary', 'si'));
