-- One row a contact with graft lost and no word on how deep: superficial slough is not graft loss.

select 'visits' as sheet, row_number, 'loss_depth' as field, format('{:g} % lost', lost_pct) as value
from incoming_visits
where lost_pct > 0 and loss_depth is null and absent not like '%loss_depth=%'
