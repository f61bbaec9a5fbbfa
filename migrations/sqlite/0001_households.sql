-- Instants are milliseconds since 1970 in UTC; volumes are millionths of a mL.
-- Only whole numbers and text, so that the same tables stand in PostgreSQL.

create table household (
  id integer primary key,
  clinic text not null,
  owner text not null,
  language text not null,
  zone text not null,
  -- The earliest instant at which it must be looked at again: the only timer there is.
  wake_at integer,
  -- Counts commits, so that of two workers only one decides on a state.
  version integer not null check (version >= 0)
) strict;
create index household_wake on household (wake_at) where wake_at is not null;

create table carer (
  household integer not null references household (id),
  no integer not null check (no >= 1),
  name text not null check (length(name) between 1 and 120),
  channel text,
  address text,
  reachable integer not null check (reachable in (0, 1)),
  said text,
  primary key (household, no),
  check ((channel is null) = (address is null))
) strict;
-- A chat speaks for one household.
create unique index carer_chat on carer (channel, address) where channel is not null;

create table patient (
  household integer not null references household (id),
  no integer not null check (no >= 1),
  name text not null,
  species text not null,
  weight text not null,
  primary key (household, no)
) strict;

create table course (
  household integer not null,
  no integer not null check (no >= 1),
  patient integer not null,
  product text not null,
  ordered text not null,
  veterinarian text not null,
  syringe integer not null check (syringe > 0),
  doses integer not null check (doses >= 1),
  entered_by text not null,
  -- Until a second person has confirmed the order nothing is asked for.
  confirmed_at integer,
  confirmed_by text,
  supply_told integer,
  started_at integer not null,
  ended_at integer,
  primary key (household, no),
  foreign key (household, patient) references patient (household, no),
  check ((confirmed_at is null) = (confirmed_by is null))
) strict;

create table plan (
  household integer not null,
  course integer not null,
  from_dose integer not null check (from_dose >= 1),
  first text not null,
  times text not null,
  volume integer not null check (volume > 0),
  primary key (household, course, from_dose),
  foreign key (household, course) references course (household, no)
) strict;

-- What went home, or was counted there since.
create table supply (
  household integer not null,
  course integer not null,
  kind text not null check (kind in ('vials', 'diluent', 'syringes', 'needles')),
  pieces integer not null check (pieces >= 0),
  counted_at integer not null,
  primary key (household, course, kind),
  foreign key (household, course) references course (household, no)
) strict;

-- Only doses that were touched; the others are computed from the plan.
create table dose (
  household integer not null,
  course integer not null,
  no integer not null check (no >= 1),
  local text not null,
  zone text not null,
  planned_at integer not null,
  asked integer not null check (asked >= 0),
  asked_at integer,
  closed_at integer,
  primary key (household, course, no),
  foreign key (household, course) references course (household, no),
  check ((asked = 0) = (asked_at is null))
) strict;

create table vial (
  household integer not null,
  course integer not null,
  no integer not null check (no >= 1),
  mixed_at integer not null,
  recorded_at integer not null,
  mixed_by text not null,
  available integer not null check (available >= 0),
  discard_by integer not null check (discard_by >= mixed_at),
  discarded_at integer,
  discarded_by text,
  level integer check (level >= 0),
  level_at integer,
  out_since integer,
  warned_minutes integer check (warned_minutes >= 0),
  primary key (household, course, no),
  foreign key (household, course) references course (household, no),
  check ((discarded_at is null) = (discarded_by is null)),
  check ((level is null) = (level_at is null))
) strict;

create table administration (
  household integer not null,
  no integer not null check (no >= 1),
  course integer not null,
  dose integer not null,
  -- FHIR MedicationAdministration.status; a superseded record is entered-in-error.
  status text not null check (status in ('completed', 'not-done')),
  given_at integer not null,
  recorded_at integer not null,
  given_by text not null,
  carer integer not null,
  volume integer not null check (volume >= 0),
  superseded_at integer,
  primary key (household, no),
  foreign key (household, course, dose) references dose (household, course, no),
  check (status = 'completed' or volume = 0)
) strict;
-- However many taps, carers and workers: one record in force for a dose.
create unique index administration_in_force on administration (household, course, dose)
  where superseded_at is null;

create table withdrawal (
  household integer not null,
  administration integer not null,
  nth integer not null check (nth >= 0),
  vial integer,
  volume integer not null check (volume >= 0),
  lost integer not null check (lost >= 0),
  primary key (household, administration, nth),
  foreign key (household, administration) references administration (household, no)
) strict;

create table question (
  household integer not null references household (id),
  no integer not null check (no >= 1),
  carer integer not null,
  options text not null,
  expires_at integer not null,
  settled integer not null check (settled in (0, 1)),
  primary key (household, no)
) strict;

create table alert (
  household integer not null references household (id),
  no integer not null check (no >= 1),
  kind text not null,
  course integer,
  dose integer,
  carer integer,
  words text,
  raised_at integer not null,
  seen_at integer,
  seen_by text,
  primary key (household, no),
  check ((course is null) = (dose is null)),
  check ((seen_at is null) = (seen_by is null))
) strict;

-- Every change with its cause, in order. Replayed, it gives the household.
create table journal (
  id integer primary key,
  household integer not null references household (id),
  at integer not null,
  cause text not null,
  change text not null
) strict;
create index journal_household on journal (household, id);
create trigger journal_is_append_only_update before update on journal
  begin select raise(abort, 'the journal is only added to'); end;
create trigger journal_is_append_only_delete before delete on journal
  begin select raise(abort, 'the journal is only added to'); end;
