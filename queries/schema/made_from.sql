-- One row: the version of the data dictionary that the tables were made from.

create table made_from (dictionary varchar not null)
