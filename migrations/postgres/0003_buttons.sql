-- Which buttons of a message still apply, and which of them the phone shows:
-- one bit for each, the first button the lowest. Where the two differ the
-- platform is asked to change what it shows.
alter table outbox add column buttons bigint not null default 0 check (buttons >= 0);
alter table outbox add column buttons_shown bigint not null default 0 check (buttons_shown >= 0);
create index outbox_buttons on outbox (household) where buttons <> 0;
create index outbox_buttons_differ on outbox (next_try_at) where state = 'sent' and buttons <> buttons_shown;
