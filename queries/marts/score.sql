-- One row a reconstruction and item: the grade that its raters agree on, or why there is none.
-- Each rater counts once, with the latest reading that is no hidden repeat; of an even number the lower middle grade.
-- Looks, hair and limb use are judged within the protocol's days; hair not where there is none to expect, nor when
-- clipped. An owner's mark is an item of its own: it replaces no rating, and no
-- rating replaces it.

with judged as (
    select
        rating.*,
        case
            when is_not_applicable then 'does not apply'
            when value is null then 'no value'
            when rater_role = 'owner' and item <> 'look_owner' then 'rated by the owner only'
            when rater_role <> 'owner' and item = 'look_owner' then 'not marked by the owner'
            when not rated.is_measured and day < protocol.hair_from then 'before day ' || protocol.hair_from
            when not rated.is_measured and day > protocol.hair_to then 'after day ' || protocol.hair_to
            when item = 'hair' and clipped = 'clipped' then 'clipped'
        end as why_not
    from rating
    cross join protocol
    inner join code as rated on rated.field = 'item' and rated.code = rating.item
    where not is_repeat
),

placed as (
    select
        judged.*,
        row_number() over (partition by case_code, item, rater_code order by day desc, value) as place
    from judged
    where why_not is null
),

agreed as (
    select
        case_code,
        item,
        percentile_disc(0.5) within group (order by value) as value,
        count(*) as raters,
        max(day) as day,
        bool_and(coalesce(blinded_to_method, false)) as blinded
    from placed
    where place = 1
    group by case_code, item
),

unusable as (
    select case_code, item, max_by(why_not, day) as why_not
    from (select case_code, item, day, min(why_not) as why_not from judged group by case_code, item, day)
    where why_not is not null
    group by case_code, item
),

asked as (
    select
        cases.*,
        item.code as item,
        agreed.value,
        agreed.raters,
        agreed.day,
        agreed.blinded,
        unusable.why_not,
        item.code = 'hair' and (location = 'foot_pad' or method = 'pad_segmental') as is_hairless
    from case_list as cases
    inner join code as item on item.field = 'item'
    left join agreed on agreed.case_code = cases.case_code and agreed.item = item.code
    left join unusable on unusable.case_code = cases.case_code and unusable.item = item.code
)

select
    case_code,
    animal,
    species,
    method,
    method_group,
    location,
    item,
    case when not is_hairless then value end as value,
    case when is_hairless then 0 else coalesce(raters, 0) end as raters,
    day,
    blinded,
    case
        when status = 'excluded' or is_hairless then 'excluded'
        when value is not null then 'scored'
        when why_not = 'does not apply' then 'excluded'
        else 'not_scored'
    end as status,
    case
        when status = 'excluded' then reason
        when is_hairless then 'does not apply'
        when value is not null then null
        else coalesce(why_not, 'no rating')
    end as reason
from asked
