-- +goose Up

-- For what few tunes have, and for lists by title that need no row.
CREATE INDEX tune_alike ON tune (sorted) WHERE alike <> '';
CREATE INDEX tune_warned ON tune (sorted) WHERE problems <> '[]';
DROP INDEX tune_bars;
CREATE INDEX tune_bars ON tune (bars, sorted);
