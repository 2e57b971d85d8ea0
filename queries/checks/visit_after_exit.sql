-- One row a contact later than the exit of an animal that lived. Deaths have a check of their own.

select 'visits' as sheet, visits.row_number, 'visit_date' as field,
    format('day {}, and the exit is on day {}', visits.visit_day, exits.exit_day) as value
from incoming_visits as visits
inner join incoming_exits as exits using (case_code)
where
    exits.exit_reason not like 'died%'
    and exits.exit_reason not like 'euthanased%'
    and visits.visit_day > exits.exit_day
