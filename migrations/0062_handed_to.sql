-- Rebuilds handed to somebody and not taken over yet: their first page asks for them each time.
CREATE INDEX hand_over_waiting ON hand_over (to_id, id) WHERE taken_at IS NULL;
