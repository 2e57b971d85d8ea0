-- One row an operation that was done and has no exit.

select 'reconstructions' as sheet, operations.row_number, 'operation_number' as field, null::varchar as value
from incoming_reconstructions as operations
left join incoming_exits as exits using (case_code)
where exits.case_code is null and operations.done_method is distinct from 'not_done'
