-- Accounts and signed-in browsers: the one thing that is not in the ledger.

create table account (
    name TEXT primary key,
    -- Roles, separated by blanks.
    roles TEXT not null,
    -- Argon2id in PHC string form; null for a demo account, which is served on loopback only.
    password_hash TEXT
);

create table session (
    -- SHA-256 of the token in the browser's cookie.
    token_hash BYTEA primary key,
    account TEXT not null references account (name) on delete cascade,
    -- Goes into each form and must come back with it.
    form_token TEXT not null,
    expires_at TIMESTAMPTZ not null
);
create index session_expiry on session (expires_at);
