-- One row a contact that saw a free graft not yet healed and left its viable share blank.

select 'visits' as sheet, visits.row_number, 'viable_pct' as field, null::varchar as value
from incoming_visits as visits
inner join incoming_reconstructions as operations using (case_code)
inner join code as method on method.field = 'done_method' and method.code = operations.done_method
where
    visits.graft_visible
    and visits.viable_pct is null
    and visits.pieces_alive is null
    and visits.absent not like '%viable_pct=%'
    and visits.epithelialised is distinct from 'yes'
    and method.is_free_graft
