-- Which entries raised a doubt about a component that lasts until somebody judges it again. What it is,
-- stands with the entry. Entries from before this migration raised none.
create table doubt_raised (
    raised_by BIGINT not null,
    part TEXT not null,
    serial TEXT not null,
    primary key (raised_by, part, serial)
);
-- The last entry that did; nought where none ever did, so that nobody looks for any.
alter table ledger_head add column doubts_seq BIGINT not null default 0;
