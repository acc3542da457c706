-- +goose Up

-- A press run: what is to be made of which tunes.
CREATE TABLE run (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  at        TEXT NOT NULL,
  author    TEXT NOT NULL,
  query     TEXT NOT NULL, -- as it was asked for
  what      TEXT NOT NULL, -- 'lesson', 'pages', 'scores'
  territory TEXT NOT NULL, -- of publication; '': none
  options   TEXT NOT NULL  -- of whoever makes the parts
);

-- A piece of a run that is made, fails or is given up by itself.
CREATE TABLE part (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  run      BIGINT NOT NULL REFERENCES run (id),
  tune     TEXT NOT NULL REFERENCES tune (id),
  key      TEXT NOT NULL,  -- as options have it
  audio    INTEGER NOT NULL, -- 1: with sound
  state    TEXT NOT NULL,  -- 'waiting', 'making', 'done', 'failed', 'cancelled'
  holder   TEXT NOT NULL,  -- who makes it now: one take-up of one worker
  beat     TEXT NOT NULL,  -- when that was heard of last
  share    INTEGER NOT NULL, -- that is done, in thousandths
  tries    INTEGER NOT NULL,
  build    TEXT NOT NULL,  -- what was made; '': nothing yet
  reused   INTEGER NOT NULL, -- 1: it was there already
  problems TEXT NOT NULL,  -- JSON
  millis   BIGINT NOT NULL,
  ended    TEXT NOT NULL
);
CREATE INDEX part_run ON part (run, state);
CREATE INDEX part_state ON part (state, beat);
