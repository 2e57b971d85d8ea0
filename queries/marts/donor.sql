-- One row a donor site: were its sutures out on the expected days, and between which examinations had it healed?
-- Sites that have no sutures to take out are excluded. Complications at donor sites are recorded for the operation,
-- so that each of several sites shows them all.

with with_complication as (
    select case_code, count(*) as complications
    from complication
    where counts and site = 'donor'
    group by case_code
),

described as (
    select
        cases.*,
        sites.donor,
        sites.donor_region,
        sites.donor_closure,
        sites.suture_out_day,
        sites.suture_state,
        case when sites.first_healed_day is not null then coalesce(sites.last_open_day, 0) else sites.last_open_day
        end as healed_left,
        sites.first_healed_day as healed_right,
        coalesce(with_complication.complications, 0) as complications,
        state.grouping is not distinct from 'none_to_remove'
            or list_has_any(sites.absent, ['suture_state=not_applicable', 'suture_out_date=not_applicable'])
            or (sites.suture_state is null and sites.donor_closure is not distinct from 'left_open') as has_none,
        protocol.sutures_from,
        protocol.sutures_to
    from stg_donor_sites as sites
    inner join case_list as cases using (case_code)
    cross join protocol
    left join with_complication using (case_code)
    left join code as state on state.field = 'suture_state' and state.code = sites.suture_state
)

select
    case_code,
    animal,
    species,
    method_group,
    donor,
    donor_region,
    donor_closure,
    suture_out_day,
    suture_state,
    healed_left,
    healed_right,
    case
        when status = 'excluded' or has_none then 'excluded'
        when suture_out_day > sutures_to then 'sure_no'
        when suture_out_day is null or suture_state = 'partial' then 'cannot_tell'
        when suture_out_day >= sutures_from then 'sure_yes'
        else 'sure_no'
    end as status,
    case
        when status = 'excluded' then reason
        when has_none then 'no sutures to take out'
        when suture_out_day is null and exit_day <= sutures_to and exit_reason.ends_graft
            then exit_reason.label || ', sutures not seen out'
        when suture_out_day is null then 'day not recorded'
        when suture_state = 'partial' and suture_out_day <= sutures_to then 'only some taken out'
        when suture_out_day < sutures_from then 'out before day ' || sutures_from
        when suture_out_day > sutures_to then 'out after day ' || sutures_to
    end as reason,
    complications
from described
left join code as exit_reason on exit_reason.field = 'exit_reason' and exit_reason.code = described.exit_reason
