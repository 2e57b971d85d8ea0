-- One row a rating outside the scale of its item, or between the grades of a graded one.

with ratings as (
    select scores.row_number, scores.value, item.label, item.grouping as scale,
        string_split(item.grouping, '-')[2]::double as highest,
        item.grades is not null as is_graded
    from incoming_scores as scores
    inner join code as item on item.field = 'item' and item.code = scores.item
)

select 'scores' as sheet, row_number, 'value' as field, format('{:g}; {} runs {}', value, label, scale) as value
from ratings
where value > highest or (is_graded and value % 1 <> 0)
