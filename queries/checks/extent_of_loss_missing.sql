-- One row a partial loss of the graft or flap with no extent: 2 % and 53 % are both partial.

select 'complications' as sheet, row_number, 'extent_pct' as field, null::varchar as value
from incoming_complications
where complication = 'partial_necrosis' and extent_pct is null and absent not like '%extent_pct=%'
