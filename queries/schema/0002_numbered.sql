-- A store carries the number of its schema; tables keep their rows and lose the conditions that version 0.1.0 gave them,
-- so that a new code or range makes no store unreadable.

create table animals_kept as select * from animals;
drop table animals;
alter table animals_kept rename to animals;

create table wounds_kept as select * from wounds;
drop table wounds;
alter table wounds_kept rename to wounds;

create table reconstructions_kept as select * from reconstructions;
drop table reconstructions;
alter table reconstructions_kept rename to reconstructions;

create table donor_sites_kept as select * from donor_sites;
drop table donor_sites;
alter table donor_sites_kept rename to donor_sites;

create table visits_kept as select * from visits;
drop table visits;
alter table visits_kept rename to visits;

create table scores_kept as select * from scores;
drop table scores;
alter table scores_kept rename to scores;

create table complications_kept as select * from complications;
drop table complications;
alter table complications_kept rename to complications;

create table exits_kept as select * from exits;
drop table exits;
alter table exits_kept rename to exits;

drop table made_from;

create table schema_number (number integer not null);
