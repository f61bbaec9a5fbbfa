-- Changes of an order: who entered each, how it ended, and what it did to a course.
alter table course add column ended_by text;
alter table course add column paused_at integer;
alter table course add column paused_by text check ((paused_at is null) = (paused_by is null));

create table amendment (
  household integer not null,
  no integer not null check (no >= 1),
  course integer not null,
  -- What was wanted, as the journal writes it.
  what text not null,
  entered_by text not null,
  entered_at integer not null,
  -- Whoever entered it has confirmed what was read back.
  affirmed integer not null check (affirmed in (0, 1)),
  settled_at integer,
  settled_by text,
  taken integer not null check (taken in (0, 1)),
  primary key (household, no),
  foreign key (household, course) references course (household, no),
  check ((settled_at is null) = (settled_by is null)),
  check (taken = 0 or settled_at is not null)
) strict;

-- An enrolment that somebody answers question by question in the clinic's chat.
create table enrolment (
  id integer primary key,
  clinic text not null,
  channel text not null,
  address text not null,
  -- Who enters it, as the record names them.
  person text not null,
  -- The answers so far, as they were taken.
  answers text not null,
  updated_at integer not null,
  unique (clinic, channel, address, person)
) strict;
