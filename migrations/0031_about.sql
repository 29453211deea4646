-- What entries are about, by which the ledger is asked for one thing. A projection.

create table entry_subject (
    kind TEXT not null,
    name TEXT not null,
    seq BIGINT not null,
    primary key (kind, name, seq)
);

-- Up to which entry it is not kept: a register that has entries already has it after a rebuild.
alter table ledger_head add column subjects_after BIGINT not null default 0;
update ledger_head set subjects_after = seq;
