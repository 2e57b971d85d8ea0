-- One row an infection with no word on what it rests on.

select 'complications' as sheet, complications.row_number, 'infection_basis' as field, complication.label as value
from incoming_complications as complications
inner join code as complication on complication.field = 'complication' and complication.code = complications.complication
where
    complication.grouping = 'infection'
    and complications.infection_basis is null
    and complications.absent not like '%infection_basis=%'
