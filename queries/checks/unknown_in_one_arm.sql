-- At most one row: three or more free grafts have no judged take, all of one kind, though there are other kinds.

with grafts as (
    select method.grouping as method_group, max(visits.viable_pct) is null and max(visits.pieces_alive) is null as is_unknown
    from incoming_reconstructions as operations
    inner join code as method on method.field = 'done_method' and method.code = operations.done_method
    left join incoming_visits as visits using (case_code)
    where method.is_free_graft
    group by operations.case_code, method.grouping
)

select 'reconstructions' as sheet, null::integer as row_number, 'done_method' as field,
    format('{} of {} are {}', count(*) filter (is_unknown), count(*) filter (is_unknown),
        replace(any_value(method_group) filter (is_unknown), '_', ' ')) as value
from grafts
having
    count(*) filter (is_unknown) >= 3
    and count(distinct method_group) filter (is_unknown) = 1
    and count(distinct method_group) > 1
