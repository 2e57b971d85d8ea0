-- One row an animal with several operations done: a number by which a tally tells that its rows are of one animal.

select
    animal,
    row_number() over (order by animal) as number
from case_list
where method <> 'not_done'
group by animal
having count(*) > 1
