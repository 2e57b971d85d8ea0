-- One row an operation with mesh fields filled whose method is no mesh graft.

select 'reconstructions' as sheet, operations.row_number,
    case when operations.meshed then 'meshed' else 'mesh_expansion' end as field, method.label as value
from incoming_reconstructions as operations
inner join code as method on method.field = 'done_method' and method.code = operations.done_method
where not method.may_be_meshed and (operations.meshed or operations.mesh_expansion > 1)
