-- People: how an account signs in, what it lets programs do, who changed it, and how often
-- somebody tried in vain. None of it is in the ledger.

-- active or disabled.
alter table account add column state TEXT not null default 'active';
-- A password that somebody else made is good until then, and must be changed at the first use.
alter table account add column one_time_until TIMESTAMPTZ;

-- Browsers sign in again after this migration.
drop table session;
create table session (
    -- SHA-256 of the token in the browser's cookie.
    token_hash BYTEA primary key,
    account TEXT not null references account (name) on delete cascade,
    -- Goes into each form and must come back with it.
    form_token TEXT not null,
    opened_at TIMESTAMPTZ not null,
    -- Moved on at most once a minute.
    used_at TIMESTAMPTZ not null,
    -- The network address it was opened from.
    client TEXT not null,
    -- What the browser says it is.
    browser TEXT not null
);
create index session_account on session (account, opened_at);
create index session_opened on session (opened_at);

create table api_token (
    -- SHA-256 of the token.
    token_hash BYTEA primary key,
    account TEXT not null references account (name) on delete cascade,
    name TEXT not null,
    -- The roles in which it may record, separated by blanks; none where it only reads.
    roles TEXT not null,
    created_at TIMESTAMPTZ not null,
    expires_at TIMESTAMPTZ not null
);
create unique index api_token_name on api_token (account, name);

create table account_change (
    id UUID primary key,
    at TIMESTAMPTZ not null,
    changed_by TEXT not null,
    account TEXT not null,
    change TEXT not null
);
create index account_change_account on account_change (account, at, id);

-- Sign-ins that failed lately, by account and by client address: several servers share them.
create table sign_in_tries (
    subject TEXT primary key,
    failures BIGINT not null,
    last_at TIMESTAMPTZ not null,
    -- Not before then is another try looked at.
    open_at TIMESTAMPTZ not null
);
create index sign_in_tries_last on sign_in_tries (last_at);
