-- One row a reconstruction: what was done to whom, how it ended, and whether the audit asks about it.
-- An operation that was planned and not done is kept as excluded, so that it is counted.
-- Seen after surgery: at an examination, at the last one that its exit gives, or when a complication was first seen.

with contacts as (
    select
        case_code,
        count(*) as visits,
        count(*) filter (where is_examination) as examinations,
        max(visit_day) filter (where is_examination) as last_examination_day
    from stg_visits
    group by case_code
),

complication_seen as (
    select
        case_code,
        max(first_seen_day) as last_found_day
    from stg_complications
    group by case_code
),

done as (
    select
        case_code,
        row_number() over (partition by animal order by surgery_month, running_order, wound, operation) as animal_order
    from stg_reconstructions
    cross join protocol
    where done_method <> 'not_done'
        and (first_operation = 'over_all' or surgery_month between period_start and period_end)
),

described as (
    select
        reconstructions.case_code,
        reconstructions.animal,
        reconstructions.wound,
        reconstructions.operation,
        animals.species,
        animals.age_years,
        animals.sex,
        animals.neutered,
        animals.breed_group,
        wounds.cause,
        cause.grouping as cause_group,
        wounds.region,
        region.grouping as location,
        region.is_distal,
        reconstructions.planned_method,
        reconstructions.done_method as method,
        method.grouping as method_group,
        method.is_free_graft,
        reconstructions.recipient_bed,
        wounds.bed_grade,
        wounds.contamination,
        wounds.area_cm2,
        wounds.area_method,
        reconstructions.graft_area_cm2,
        reconstructions.body_mass_kg,
        reconstructions.asa,
        reconstructions.surgery_month,
        reconstructions.running_order,
        reconstructions.clock_day,
        wounds.earlier_closures,
        exits.exit_reason,
        exit_reason.grouping as exit_group,
        exits.exit_day,
        greatest(exits.last_seen_day, contacts.last_examination_day) as last_seen_day,
        coalesce(contacts.visits, 0) as visits,
        coalesce(contacts.examinations, 0) as examinations,
        coalesce(contacts.examinations > 0, false)
            or coalesce(greatest(exits.last_seen_day, complication_seen.last_found_day) > 0, false) as was_seen,
        done.animal_order,
        coalesce(done.animal_order = 1, false) as is_first
    from stg_reconstructions as reconstructions
    left join stg_animals as animals using (animal)
    left join stg_wounds as wounds using (animal, wound)
    left join stg_exits as exits using (case_code)
    left join contacts using (case_code)
    left join complication_seen using (case_code)
    left join done using (case_code)
    left join code as cause on cause.field = 'cause' and cause.code = wounds.cause
    left join code as region on region.field = 'region' and region.code = wounds.region
    left join code as method on method.field = 'done_method' and method.code = reconstructions.done_method
    left join code as exit_reason on exit_reason.field = 'exit_reason' and exit_reason.code = exits.exit_reason
),

judged as (
    select
        described.*,
        case
            when method = 'not_done' then 'planned, then not done'
            when surgery_month not between protocol.period_start and protocol.period_end then 'outside the period'
            when exit_reason = 'consent_withdrawn' then 'consent withdrawn'
            when protocol.unit = 'first_per_animal' and not is_first then 'not the first operation of its animal'
        end as reason
    from described
    cross join protocol
)

select
    *,
    case when reason is null then 'eligible' else 'excluded' end as status
from judged
