-- One row a table and field: how many answers were due, and what stands in their place.
-- A word that says why there is no value is not the same as a blank.

with present as (
    select 'animals' as table_name, * from (unpivot (select count(*) as n, count(columns(*)) from stg_animals) on * exclude (n) into name column_name value present)
)

select * from present
