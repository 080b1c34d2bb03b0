-- The settings of the day that takes bring along, as JSON; most takes share a few.
CREATE TABLE settings (
    id INTEGER PRIMARY KEY,
    text TEXT NOT NULL UNIQUE,
    mark INTEGER NOT NULL          -- fingerprint of the text
) STRICT;

-- What a take's file says, without any judging. Bins and logs are not in here.
CREATE TABLE takes (
    number INTEGER PRIMARY KEY,
    file TEXT NOT NULL,            -- its name in the folder of takes
    size INTEGER NOT NULL,         -- bytes
    modified INTEGER NOT NULL,     -- nanoseconds from 1970, UTC
    sha256 TEXT NOT NULL,
    kept_at TEXT NOT NULL,         -- RFC 3339, UTC
    settings INTEGER NOT NULL REFERENCES settings (id),
    stopped INTEGER NOT NULL,      -- 1 where it ended before its last chorus
    head INTEGER,                  -- last chorus of the tune, where first and last are the tune
    trade INTEGER,                 -- bars traded at a time
    mark INTEGER NOT NULL          -- fingerprint of the row
) STRICT;

-- One tally a take for each version of the rules and each set of settings.
CREATE TABLE tallies (
    id INTEGER PRIMARY KEY,
    take INTEGER NOT NULL REFERENCES takes (number) ON DELETE CASCADE,
    rules INTEGER NOT NULL,
    digests INTEGER NOT NULL,      -- version of the digest
    settings TEXT NOT NULL,        -- fingerprint of the settings it was judged by
    day TEXT,                      -- year-month-day, in the local zone of that day
    title TEXT,
    title_lower TEXT,
    chart_sha256 TEXT,
    form_sha256 TEXT,
    chart_key TEXT,
    tempo REAL,                    -- quarter notes a minute
    feel TEXT,
    first_bar INTEGER,
    last_bar INTEGER,
    choruses INTEGER,
    seconds REAL,                  -- from bar 1 to the end
    line_s REAL,                   -- seconds of the line
    counted REAL,
    chord REAL,
    chord_effect REAL,
    keys TEXT,                     -- JSON: the key of each chorus, where it went through keys
    band TEXT,                     -- JSON: how the band played
    fault TEXT,                    -- why it cannot be judged; then all between is null
    mark INTEGER NOT NULL,         -- fingerprint of the row
    UNIQUE (take, rules, digests, settings)
) STRICT;

-- The digest of each tally that has one: apart, so that what is listed lies close together.
CREATE TABLE digests (
    tally INTEGER PRIMARY KEY REFERENCES tallies (id) ON DELETE CASCADE,
    text TEXT NOT NULL,            -- JSON
    mark INTEGER NOT NULL          -- fingerprint of the text
) STRICT;

CREATE INDEX tallies_by_day ON tallies (day);
CREATE INDEX tallies_by_form ON tallies (form_sha256);

-- The lines of the journal. The kind of a line that does not read begins with a question mark.
CREATE TABLE journal (
    line INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    take INTEGER,
    subject TEXT,
    text TEXT NOT NULL,
    mark INTEGER NOT NULL
) STRICT;

CREATE INDEX journal_by_kind ON journal (kind, subject);
CREATE INDEX journal_by_take ON journal (take) WHERE take IS NOT NULL;

-- How far the journal was read.
CREATE TABLE reach (
    bytes INTEGER NOT NULL,
    lines INTEGER NOT NULL,
    rows_read INTEGER NOT NULL,
    tail TEXT NOT NULL
) STRICT;
