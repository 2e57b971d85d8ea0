-- One row an exit as lost though a complication of the operation ended in amputation or death.

select distinct 'exits' as sheet, exits.row_number, 'exit_reason' as field,
    format('{}, though row {} of Complications says {}', reason.label, complications.row_number,
        case
            when complications.action like '%amputation%' then 'amputation'
            when complications.action like '%euthanasia%' then 'euthanasia'
            else 'death'
        end) as value
from incoming_exits as exits
inner join code as reason on reason.field = 'exit_reason' and reason.code = exits.exit_reason
inner join incoming_complications as complications using (case_code)
where
    reason.grouping = 'lost'
    and (
        complications.action like '%amputation%'
        or complications.action like '%euthanasia%'
        or complications.complication = 'death'
    )
