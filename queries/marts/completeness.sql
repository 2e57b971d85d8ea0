-- One row a table and field: how many answers were due, and what stands in their place.
-- A word that says why there is no value is no blank. The keys that name a row cannot lack and are left out.

with present as (
    select 'animals' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_animals)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'wounds' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_wounds)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'reconstructions' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_reconstructions)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'donor_sites' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_donor_sites)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'visits' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_visits)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'scores' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_scores)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'complications' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_complications)
        on columns(* exclude (n)) into name column_name value present
    )
    union all
    select 'exits' as table_name, column_name, n, present
    from (
        unpivot (select count(*) as n, count(columns(*)) from stg_exits)
        on columns(* exclude (n)) into name column_name value present
    )
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
