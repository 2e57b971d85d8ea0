-- At most one row: in half or more of the operations with a judged take, only the surgeon judged it.

with judged as (
    select case_code, bool_and(assessor_operated) as only_the_surgeon
    from incoming_visits
    where viable_pct is not null and assessor_operated is not null
    group by case_code
)

select 'visits' as sheet, null::integer as row_number, 'assessor_operated' as field,
    format('{} of {}', count(*) filter (only_the_surgeon), count(*)) as value
from judged
having count(*) filter (only_the_surgeon) * 2 >= count(*) and count(*) > 0
