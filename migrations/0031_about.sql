-- What entries are about, by which the ledger is asked for one thing. A projection: a register
-- that has entries already has it after its next rebuild.

create table entry_subject (
    kind TEXT not null,
    name TEXT not null,
    seq BIGINT not null,
    primary key (kind, name, seq)
);
