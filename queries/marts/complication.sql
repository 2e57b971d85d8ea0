-- One row a complication, with the grade that follows from how it was treated.
-- A related death is catastrophic however it was treated; a grade set by hand stands only with a reason.
-- Without a recorded treatment the grade is not known.

with worst_action as (
    select
        given.case_code,
        given.complication,
        given.site,
        given.first_seen_day,
        max(case action.grouping when 'minor' then 1 when 'major' then 2 when 'catastrophic' then 3 end) as worst
    from (
        select case_code, complication, site, first_seen_day, unnest(action) as action
        from stg_complications
    ) as given
    inner join code as action on action.field = 'action' and action.code = given.action
    group by given.case_code, given.complication, given.site, given.first_seen_day
),

derived as (
    select
        complications.*,
        kind.grouping as complication_group,
        complications.complication = 'death' and complications.related is distinct from 'unlikely' as is_related_death,
        coalesce(complications.complication_class, 'complication') = 'complication'
            and kind.grouping <> 'not_a_complication' as counts,
        case
            when worst_action.worst = 3 or is_related_death then 'catastrophic'
            when worst_action.worst = 2 then 'major'
            when worst_action.worst = 1 then 'minor'
        end as derived_grade
    from stg_complications as complications
    left join worst_action using (case_code, complication, site, first_seen_day)
    left join code as kind on kind.field = 'complication' and kind.code = complications.complication
)

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method_group,
    derived.complication,
    derived.complication_group,
    derived.site,
    derived.first_seen_day,
    derived.last_free_day,
    derived.extent_pct,
    derived.complication_class,
    derived.derived_grade,
    case when derived.grade_reason is not null then coalesce(derived.grade, derived.derived_grade)
        else derived.derived_grade
    end as grade,
    derived.counts,
    derived.complication_group = 'graft_loss' as is_graft_loss,
    derived.complication_group = 'infection' as is_infection,
    derived.is_related_death
        or list_has_any(derived.action, ['amputation', 'euthanasia']) is true as is_limb_or_life_lost,
    list_has_any(derived.action, ['re_graft', 'flap']) is true as is_re_operated
from derived
inner join case_list as cases using (case_code)
