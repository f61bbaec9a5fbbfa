-- What was last said to a carer is noted with each reminder, in a row that is written anew
-- for it. Where its page has as much room again, no index has to learn of that.
alter table carer set (fillfactor = 50);
