-- One row a table and field: how many answers were due, and what stands in their place.
-- A reason for having no value is not a blank. Keys are never blank and are left out.

with counted as (
    select 'animals' as table_name, count(*) as n, count(columns(*)) from stg_animals
    union all by name
    select 'wounds' as table_name, count(*) as n, count(columns(*)) from stg_wounds
    union all by name
    select 'reconstructions' as table_name, count(*) as n, count(columns(*)) from stg_reconstructions
    union all by name
    select 'donor_sites' as table_name, count(*) as n, count(columns(*)) from stg_donor_sites
    union all by name
    select 'visits' as table_name, count(*) as n, count(columns(*)) from stg_visits
    union all by name
    select 'scores' as table_name, count(*) as n, count(columns(*)) from stg_scores
    union all by name
    select 'complications' as table_name, count(*) as n, count(columns(*)) from stg_complications
    union all by name
    select 'exits' as table_name, count(*) as n, count(columns(*)) from stg_exits
),

present as (
    unpivot counted on columns(* exclude (table_name, n)) into name column_name value present
),

said as (
    select 'animals' as table_name, unnest(absent) as entry from stg_animals
    union all
    select 'wounds' as table_name, unnest(absent) as entry from stg_wounds
    union all
    select 'reconstructions' as table_name, unnest(absent) as entry from stg_reconstructions
    union all
    select 'donor_sites' as table_name, unnest(absent) as entry from stg_donor_sites
    union all
    select 'visits' as table_name, unnest(absent) as entry from stg_visits
    union all
    select 'scores' as table_name, unnest(absent) as entry from stg_scores
    union all
    select 'complications' as table_name, unnest(absent) as entry from stg_complications
    union all
    select 'exits' as table_name, unnest(absent) as entry from stg_exits
),

reason as (
    select
        table_name,
        split_part(entry, '=', 1) as field,
        count(*) filter (where entry like '%=not_recorded') as not_recorded,
        count(*) filter (where entry like '%=not_assessable') as not_assessable,
        count(*) filter (where entry like '%=refused') as refused,
        count(*) filter (where entry like '%=not_applicable') as not_applicable
    from said
    group by table_name, split_part(entry, '=', 1)
)

select
    field.table_name,
    field.field,
    field.is_core,
    present.n - coalesce(reason.not_applicable, 0) as due,
    present.present,
    coalesce(reason.not_recorded, 0) as not_recorded,
    coalesce(reason.not_assessable, 0) as not_assessable,
    coalesce(reason.refused, 0) as refused,
    coalesce(reason.not_applicable, 0) as not_applicable,
    present.n - present.present - coalesce(
        reason.not_recorded + reason.not_assessable + reason.refused + reason.not_applicable, 0
    ) as blank
from field
inner join present using (table_name, column_name)
left join reason using (table_name, field)
where not field.is_key
