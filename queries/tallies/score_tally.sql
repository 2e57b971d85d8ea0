-- One row a species, item, method group and grade: how many cases were given it.

select
    species,
    item,
    method_group,
    value,
    count(*) as cases
from score
where status = 'scored'
group by species, item, method_group, value
