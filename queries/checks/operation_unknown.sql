-- One row a record whose operation is not among the operations.

select cases.sheet, cases.row_number, 'patient_number' as field, format('wound {}, operation {}', cases.wound, cases.operation) as value
from incoming_cases as cases
left join incoming_reconstructions as operations using (case_code)
where operations.case_code is null
