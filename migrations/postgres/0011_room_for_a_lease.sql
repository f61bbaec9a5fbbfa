-- A message that is taken to be sent is written anew, beside what it was. Where its
-- page has as much room again, no index has to learn of that.
alter table outbox set (fillfactor = 50);
