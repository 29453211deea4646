-- The ledger. Entries are appended and never changed; every other table can be rebuilt from them.

-- One row: the last entry. Its update is the first statement of every write and takes the lock.
create table ledger_head (
    id SMALLINT primary key check (id = 1),
    seq BIGINT not null,
    hash BYTEA not null,
    -- The last entry that changed design data, by which a server knows that its copy is stale.
    design_seq BIGINT not null
);

create table ledger (
    seq BIGINT primary key,
    -- The sender's identity for the command: a repeat is recorded once.
    command UUID not null,
    recorded_at TIMESTAMPTZ not null,
    effective_at TIMESTAMPTZ not null,
    actor TEXT not null,
    reason TEXT not null,
    corrects BIGINT references ledger (seq),
    kind TEXT not null,
    -- The fact as JSON text, kept to the letter because the hash is over these letters.
    body TEXT not null,
    hash BYTEA not null
);
create unique index ledger_command on ledger (command);
-- An entry is corrected at most once; a correction can itself be corrected.
create unique index ledger_corrects on ledger (corrects) where corrects is not null;

-- Design data: car types, parts, tasks, procedures, rule sets. Small; each server keeps a copy.
create table document (
    seq BIGINT primary key,
    kind TEXT not null,
    name TEXT not null,
    revision TEXT not null,
    body TEXT not null
);
create unique index document_name on document (kind, name, revision);
