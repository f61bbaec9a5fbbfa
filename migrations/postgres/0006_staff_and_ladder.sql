-- Who is told of an alert that nobody has seen, what was answered, how it ended.

alter table alert add column patient text;
-- What its message stated, without the owner's words; null for alerts of before.
alter table alert add column facts text;
-- Up to when the ladder was walked; null for alerts of before, which is when they were raised.
alter table alert add column told_at bigint;
alter table alert add column rungs bigint not null default 0 check (rungs >= 0);
-- What people at the clinic wrote to the carer: when, who, the words.
alter table alert add column replies text not null default '[]';
alter table alert add column ended text;
alter table alert add column ended_at bigint;
alter table alert add column ended_by text;
create index alert_open on alert (kind, household, no) where ended_at is null;

-- Where the clinic calls a carer.
alter table carer add column phone text check (length(phone) between 1 and 60);

-- People of the clinic. Nobody is deleted: a record names who acted.
create table staff (
  clinic text not null,
  no bigint not null check (no >= 1),
  name text not null check (length(name) between 1 and 120),
  role text not null check (role in ('technician', 'veterinarian')),
  -- The platform's number of the person, once the invitation was used.
  channel text,
  person text,
  -- The chat that they have with the bot alone, where there is one.
  address text,
  on_call bigint not null check (on_call in (0, 1)),
  invited_at bigint not null,
  joined_at bigint,
  removed_at bigint,
  primary key (clinic, no),
  check ((joined_at is null) = (channel is null)),
  check ((joined_at is null) = (person is null)),
  check (address is null or channel is not null)
);
create unique index staff_name on staff (clinic, name) where removed_at is null;
create unique index staff_person on staff (clinic, channel, person)
  where person is not null and removed_at is null;
create unique index staff_on_call on staff (clinic) where on_call = 1 and removed_at is null;

-- SHA-256 of the codes that make somebody a member of the staff, or a group the clinic's chat.
create table clinic_code (
  code_hash text primary key,
  clinic text not null,
  -- Null: the chat in which it is written becomes the clinic's.
  staff bigint,
  created_at bigint not null,
  expires_at bigint not null,
  used_at bigint
);
