-- +goose Up

-- Lists are by title, and ask for any of these: whichever index finds the tunes holds all
-- that is asked of them, so that rows are read only of the tunes that are shown. An entry of an
-- index may not be long, so they hold the beginnings of texts.
ALTER TABLE tune ADD COLUMN dance TEXT COLLATE "C" GENERATED ALWAYS AS (substr(rhythm, 1, 120)) STORED;
UPDATE tune SET sorted = substr(sorted, 1, 120), composers = substr(composers, 1, 120) WHERE length(sorted) > 120 OR length(composers) > 120;
DROP INDEX tune_sorted;
CREATE INDEX tune_sorted ON tune (sorted, seq, key, metre, kind, dance, bars, seconds, composers);
DROP INDEX tune_key;
CREATE INDEX tune_key ON tune (key, sorted, seq, metre, kind, dance, bars, seconds, composers);
DROP INDEX tune_metre;
CREATE INDEX tune_metre ON tune (metre, sorted, seq, key, kind, dance, bars, seconds, composers);
DROP INDEX tune_kind;
CREATE INDEX tune_kind ON tune (kind, sorted, seq, key, metre, dance, bars, seconds, composers);
CREATE INDEX tune_dance ON tune (dance, sorted, seq, key, metre, kind, bars, seconds, composers);
DROP INDEX tune_bars;
CREATE INDEX tune_bars ON tune (bars, sorted, seq, key, metre, kind, dance, seconds, composers);
CREATE INDEX tune_seconds ON tune (seconds, sorted, seq, key, metre, kind, dance, bars, composers);
DROP INDEX tune_composers;
CREATE INDEX tune_composers ON tune (composers, sorted, seq, key, metre, kind, dance, bars, seconds);

-- A rating is asked for without a level as well.
CREATE INDEX page_rated ON page (rating, level, tune);

-- A list that no row has to be read for must know that all see its rows: tables to which is
-- only added are looked through after a tenth of the usual.
ALTER TABLE tune SET (autovacuum_vacuum_insert_scale_factor = 0.02);
ANALYZE tune;
