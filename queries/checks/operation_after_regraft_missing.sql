-- One row an exit as operated on again where the next operation on that wound is not in the file.

select 'exits' as sheet, exits.row_number, 'exit_reason' as field, reason.label as value
from incoming_exits as exits
inner join code as reason on reason.field = 'exit_reason' and reason.code = exits.exit_reason
left join incoming_reconstructions as later
    on later.animal = exits.animal and later.wound = exits.wound and later.operation = exits.operation + 1
where reason.grouping = 're_operated' and later.animal is null
