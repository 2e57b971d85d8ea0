-- One row a complication, with the grade that follows from how it was treated.
-- A related death is catastrophic however it was treated; a grade set by hand stands only with a reason.
-- Without a recorded treatment the grade is not known.

with treated as (
    select
        given.case_code,
        given.complication,
        given.site,
        given.first_seen_day,
        max_by(severity.code, severity.rank) as grade,
        bool_or(action.is_re_operation) as is_re_operated
    from (
        select case_code, complication, site, first_seen_day, unnest(action) as action
        from stg_complications
    ) as given
    inner join code as action on action.field = 'action' and action.code = given.action
    inner join code as severity on severity.field = 'grade' and severity.code = action.grouping
    group by given.case_code, given.complication, given.site, given.first_seen_day
),

derived as (
    select
        complications.*,
        kind.grouping as complication_group,
        complications.complication = 'death' and complications.related is distinct from 'unlikely' as is_related_death,
        coalesce(complications.complication_class, 'complication') = 'complication'
            and kind.grouping <> 'not_a_complication' as counts,
        case when is_related_death then 'catastrophic' else treated.grade end as derived_grade,
        coalesce(treated.is_re_operated, false) as is_re_operated
    from stg_complications as complications
    left join treated using (case_code, complication, site, first_seen_day)
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
    coalesce(derived.derived_grade = 'catastrophic', false) as is_limb_or_life_lost,
    derived.is_re_operated
from derived
inner join case_list as cases using (case_code)
