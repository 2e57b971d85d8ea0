-- One row a contact later than the exit of an animal that lived. Deaths have a check of their own.

select 'visits' as sheet, visits.row_number, 'visit_date' as field,
    format('day {}, and the exit is on day {}', visits.visit_day, exits.exit_day) as value
from incoming_visits as visits
inner join incoming_exits as exits using (case_code)
inner join code as reason on reason.field = 'exit_reason' and reason.code = exits.exit_reason
where not reason.is_death and visits.visit_day > exits.exit_day
