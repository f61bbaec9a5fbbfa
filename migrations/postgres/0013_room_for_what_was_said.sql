-- What a carer said last is noted with their words and forgotten with the next reminder, in a
-- row that is written anew for it. Where its page has as much room again, no index has to
-- learn of that.
alter table carer set (fillfactor = 50);
