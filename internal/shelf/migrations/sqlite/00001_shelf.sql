-- +goose Up

-- What the shelf is called by itself.
CREATE TABLE shelf (
  name  TEXT PRIMARY KEY,
  value TEXT NOT NULL
);

-- Files as they were handed in. Their bytes lie among the files, under the hash.
CREATE TABLE source (
  hash   TEXT PRIMARY KEY, -- SHA-256, in hexadecimal
  name   TEXT NOT NULL,
  bytes  BIGINT NOT NULL,
  added  TEXT NOT NULL,
  author TEXT NOT NULL
);

-- A tune, with what was understood of its sheet. Times are RFC 3339, UTC.
CREATE TABLE tune (
  seq       INTEGER PRIMARY KEY AUTOINCREMENT,
  id        TEXT NOT NULL UNIQUE,
  source    TEXT NOT NULL REFERENCES source (hash),
  number    INTEGER NOT NULL, -- in the source, of several; 0: the only one
  name      TEXT NOT NULL,    -- of the sheet, as a file
  hash      TEXT NOT NULL,    -- of the sheet now in force
  added     TEXT NOT NULL,
  author    TEXT NOT NULL,
  title     TEXT NOT NULL,
  sorted    TEXT NOT NULL,    -- the title, folded
  others    TEXT NOT NULL,    -- titles that it goes by as well, a line each
  composer  TEXT NOT NULL,
  composers TEXT NOT NULL,    -- folded
  lyricist  TEXT NOT NULL,
  rhythm    TEXT NOT NULL,
  key       TEXT NOT NULL,
  metre     TEXT NOT NULL,
  feel      TEXT NOT NULL,
  kind      TEXT NOT NULL,
  sure      INTEGER NOT NULL, -- of the kind; 1: yes
  form      TEXT NOT NULL,
  tempo     INTEGER NOT NULL, -- quarter notes a minute; 0: none is stated
  bars      INTEGER NOT NULL,
  notes     INTEGER NOT NULL,
  chords    INTEGER NOT NULL,
  seconds   INTEGER NOT NULL,
  incipit   TEXT NOT NULL,    -- intervals from the first note on
  downbeat  TEXT NOT NULL,    -- intervals from the first full bar on
  melody    TEXT NOT NULL,    -- intervals without repeated notes
  alike     TEXT NOT NULL,    -- id of the tune that it is again; '': none
  problems  TEXT NOT NULL     -- JSON
);
CREATE INDEX tune_hash ON tune (hash);
CREATE INDEX tune_source ON tune (source);
CREATE INDEX tune_sorted ON tune (sorted, id);
CREATE INDEX tune_composers ON tune (composers, sorted);
CREATE INDEX tune_key ON tune (key, sorted);
CREATE INDEX tune_metre ON tune (metre, sorted);
CREATE INDEX tune_kind ON tune (kind, sorted);
CREATE INDEX tune_bars ON tune (bars);
CREATE INDEX tune_incipit ON tune (incipit);
CREATE INDEX tune_downbeat ON tune (downbeat);

-- Words to search for, folded; the rows are those of tune.
CREATE VIRTUAL TABLE tune_text USING fts5 (words, content='', contentless_delete=1, tokenize='unicode61');

-- Marks of a melody's contour: tunes that share one may be the same.
CREATE TABLE contour (
  mark BIGINT NOT NULL,
  tune BIGINT NOT NULL REFERENCES tune (seq),
  PRIMARY KEY (mark, tune)
) WITHOUT ROWID;

-- What a person writes about a tune, version after version; nothing is overwritten.
-- what: 'sheet', 'choices', 'rights' (a rights file), 'text NAME'.
CREATE TABLE revision (
  tune    BIGINT NOT NULL REFERENCES tune (seq),
  what    TEXT NOT NULL,
  version INTEGER NOT NULL, -- from 1
  act     TEXT NOT NULL,    -- 'set', 'undo', 'redo'
  shows   INTEGER NOT NULL, -- the version whose bytes are in force after it; 0: none
  author  TEXT NOT NULL,
  at      TEXT NOT NULL,
  note    TEXT NOT NULL,
  hash    TEXT NOT NULL,
  data    BLOB,          -- of a 'set'
  PRIMARY KEY (tune, what, version)
) WITHOUT ROWID;

-- What may be done with a tune where. The newest version of a territory holds.
CREATE TABLE rights (
  tune      BIGINT NOT NULL REFERENCES tune (seq),
  territory TEXT NOT NULL, -- ISO 3166-1 alpha-2, or 'world'
  version   INTEGER NOT NULL,
  current   INTEGER NOT NULL, -- 1: the newest
  status    TEXT NOT NULL,
  basis     TEXT NOT NULL,
  year      INTEGER NOT NULL, -- of first publication; 0: unknown
  died      INTEGER NOT NULL, -- the last of the makers; 0: unknown
  evidence  TEXT NOT NULL,
  holder    TEXT NOT NULL,
  since     TEXT NOT NULL,    -- date from which; '': always
  expires   TEXT NOT NULL,    -- date until which, the day included; '': never
  note      TEXT NOT NULL,
  author    TEXT NOT NULL,
  at        TEXT NOT NULL,
  PRIMARY KEY (tune, territory, version)
);
CREATE INDEX rights_current ON rights (current, territory, status, tune);

CREATE TABLE hand (
  name   TEXT NOT NULL,
  version INTEGER NOT NULL,
  spans  TEXT NOT NULL,
  note   TEXT NOT NULL,
  author TEXT NOT NULL,
  at     TEXT NOT NULL,
  PRIMARY KEY (name, version)
);

-- What was made of a tune: a set of files. The manifest lies among the files.
CREATE TABLE build (
  id       TEXT PRIMARY KEY, -- of what it is made from, and by which program
  tune     BIGINT NOT NULL REFERENCES tune (seq),
  what     TEXT NOT NULL,    -- 'lesson', 'pages', 'scores'
  slot     TEXT NOT NULL,    -- what a newer one takes the place of
  job      TEXT NOT NULL,    -- hash of the job's text
  program  TEXT NOT NULL,
  levels   TEXT NOT NULL,
  key      TEXT NOT NULL,
  files    INTEGER NOT NULL,
  bytes    BIGINT NOT NULL,
  manifest TEXT NOT NULL,    -- hash
  made     TEXT NOT NULL,
  author   TEXT NOT NULL
);
CREATE INDEX build_tune ON build (tune, made);

-- What was made for the public: where, when, and under which rights.
CREATE TABLE publication (
  build     TEXT NOT NULL REFERENCES build (id),
  territory TEXT NOT NULL,
  at        TEXT NOT NULL,
  author    TEXT NOT NULL,
  rights    TEXT NOT NULL, -- JSON, as they stood
  PRIMARY KEY (build, territory, at)
);

-- What the newest page of a level asks for.
CREATE TABLE page (
  tune   BIGINT NOT NULL REFERENCES tune (seq),
  level  INTEGER NOT NULL,
  build  TEXT NOT NULL REFERENCES build (id),
  key    TEXT NOT NULL,
  rating INTEGER NOT NULL, -- in tenths, 0 to 1000
  scale  INTEGER NOT NULL, -- version of the scale
  PRIMARY KEY (tune, level)
);
CREATE INDEX page_rating ON page (level, rating, tune);
CREATE TABLE page_technique (
  tune      BIGINT NOT NULL,
  level     INTEGER NOT NULL,
  technique TEXT NOT NULL,
  bars      TEXT NOT NULL, -- JSON
  PRIMARY KEY (tune, level, technique),
  FOREIGN KEY (tune, level) REFERENCES page (tune, level)
);
CREATE INDEX page_technique_name ON page_technique (technique, level, tune);
