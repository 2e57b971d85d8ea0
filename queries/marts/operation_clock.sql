-- One row a reconstruction: for which operation on its wound its examinations count, and how many days after that one
-- it was done.
-- Asked about a graft, they count for that graft. Asked about a wound, all count for the first operation done on it.

with chained as (
    select
        cases.*,
        protocol.heal_question = 'graft' as is_of_graft,
        first_value(case_code) over chain as first_code,
        first_value(clock_day) over chain as first_clock_day
    from case_list as cases
    cross join protocol
    window chain as (
        partition by animal, wound order by case when method = 'not_done' then 1 else 0 end, clock_day, operation
    )
)

select
    case_code,
    operation,
    exit_group,
    exit_reason,
    exit_day,
    is_of_graft,
    case when is_of_graft then case_code else first_code end as subject,
    case when is_of_graft then 0 else clock_day - first_clock_day end as shift
from chained
