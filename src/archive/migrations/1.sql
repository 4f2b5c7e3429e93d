-- Every entry, in order. The other tables can be made again from this one.
CREATE TABLE entry (
    seq      INTEGER PRIMARY KEY CHECK (seq >= 1),
    previous TEXT NOT NULL CHECK (length(previous) = 64),
    hash     TEXT NOT NULL UNIQUE CHECK (length(hash) = 64),
    body     TEXT NOT NULL
) STRICT;

-- Coupons, and the entry that holds what the sheet says of each.
CREATE TABLE coupon (
    id  TEXT PRIMARY KEY,
    seq INTEGER NOT NULL REFERENCES entry (seq)
) STRICT, WITHOUT ROWID;

-- Revisions: what each photograph gave, once an entry.
CREATE TABLE revision (
    seq        INTEGER PRIMARY KEY REFERENCES entry (seq),
    coupon     TEXT NOT NULL REFERENCES coupon (id),
    photograph TEXT NOT NULL CHECK (length(photograph) = 64),
    key        TEXT NOT NULL
) STRICT;
CREATE INDEX revision_photograph ON revision (photograph, seq);

-- The files of each revision, below the archive's folder.
CREATE TABLE file (
    seq   INTEGER NOT NULL REFERENCES revision (seq),
    place TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    PRIMARY KEY (seq, place)
) STRICT, WITHOUT ROWID;

-- An entry stays as it is.
CREATE TRIGGER entry_is_kept BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the archive is never changed'); END;
CREATE TRIGGER entry_is_not_removed BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'an entry of the archive is never removed'); END;
