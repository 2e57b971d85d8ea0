-- One row a contact of an operation that was planned and not done, with a judged take.

select 'visits' as sheet, visits.row_number, 'viable_pct' as field, null::varchar as value
from incoming_visits as visits
inner join incoming_reconstructions as operations using (case_code)
where operations.done_method = 'not_done' and visits.viable_pct is not null
