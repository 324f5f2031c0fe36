-- Resting gauges by area, so that the board counts and names them without reading the fleet.

CREATE INDEX gauge_resting ON gauge (area_id, tag) WHERE standing = 'resting';
