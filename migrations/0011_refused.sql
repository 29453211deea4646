-- Attempts that were refused: who tried what when, and why it was not done. Not in the ledger,
-- since nothing became true; appended and never changed.
create table refused_attempt (
    id UUID primary key,
    at TIMESTAMPTZ not null,
    -- Who was signed in, or whose account it was tried with; null where that is not known.
    person TEXT,
    -- The network address it came from; null from the command line.
    client TEXT,
    kind TEXT not null,
    -- The kind of fact, or method and path.
    attempted TEXT not null,
    -- The fact that was to be recorded, as JSON text, cut off where it is long.
    details TEXT,
    why TEXT not null
);
create index refused_attempt_at on refused_attempt (at, id);
create index refused_attempt_person on refused_attempt (person, at, id);
create index refused_attempt_kind on refused_attempt (kind, at, id);
