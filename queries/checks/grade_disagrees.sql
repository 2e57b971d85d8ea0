-- One row a complication whose grade was set by hand, differs from the one that its treatment gives, and has no reason.

with treated as (
    select complications.row_number, max_by(severity.code, severity.rank) as grade
    from incoming_complications as complications
    inner join code as action on action.field = 'action' and list_contains(string_split(complications.action, '; '), action.code)
    inner join code as severity on severity.field = 'grade' and severity.code = action.grouping
    group by complications.row_number
)

select 'complications' as sheet, complications.row_number, 'grade' as field,
    format('{}, and the treatment gives {}', complications.grade, treated.grade) as value
from incoming_complications as complications
inner join treated using (row_number)
where complications.grade <> treated.grade and complications.grade_reason is null
