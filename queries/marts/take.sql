-- One row a reconstruction and threshold: was that much of the graft alive when take could first be judged?
-- Read at the visit nearest the protocol's day, of two equally near the later; nothing before the window is take.
-- Loss of the epidermis alone is no loss of graft; where the loss is partly that, the lost part is doubtful.
-- Loss whose depth was left blank is read as loss of the graft.
-- `status_each` and `reason_each` also answer for later operations of an animal where only its first one counts.

with looked as (
    select
        visits.case_code,
        visits.visit_day,
        visits.contact_group,
        visits.contact,
        visits.loss_depth,
        visits.uncertain_pct,
        coalesce(visits.viable_pct, 100.0 * visits.pieces_alive / nullif(visits.pieces_seen, 0)) as viable_pct,
        case when visits.viable_pct is null then 100.0 - 100.0 * visits.pieces_alive / nullif(visits.pieces_seen, 0)
            else visits.lost_pct
        end as lost_pct
    from stg_visits as visits
    cross join protocol
    where visits.graft_visible and visits.is_examination and visits.visit_day between protocol.take_from and protocol.take_to
),

nearest as (
    select
        looked.*,
        coalesce(uncertain_pct, greatest(0, 100 - viable_pct - coalesce(lost_pct, 0))) as doubtful_pct,
        row_number() over (
            partition by case_code
            order by abs(visit_day - protocol.take_day), visit_day desc, contact_group desc, contact
        ) as place
    from looked
    cross join protocol
    where viable_pct is not null
),

reading as (
    select
        case_code,
        visit_day as read_on_day,
        case when loss_depth = 'epidermal_only' then least(100, viable_pct + coalesce(lost_pct, 0)) else viable_pct
        end as viable_pct,
        case when loss_depth = 'mixed' then doubtful_pct + coalesce(lost_pct, 0) else doubtful_pct end as uncertain_pct,
        case when loss_depth in ('epidermal_only', 'mixed') then 0 else lost_pct end as lost_full_pct,
        loss_depth
    from nearest
    where place = 1
),

judged as (
    select
        cases.*,
        coalesce(cases.reason = 'not the first operation of its animal', false) as is_later,
        threshold.pct as threshold_pct,
        threshold.is_primary,
        reading.read_on_day,
        reading.viable_pct,
        reading.uncertain_pct,
        reading.lost_full_pct,
        reading.loss_depth,
        protocol.take_from,
        protocol.take_to,
        exit_reason.label as exit_words,
        exit_reason.ends_graft,
        case
            when (cases.status = 'excluded' and not is_later) or not cases.is_free_graft then 'excluded'
            when reading.viable_pct >= threshold.pct then 'sure_yes'
            when reading.viable_pct + reading.uncertain_pct < threshold.pct then 'sure_no'
            when reading.viable_pct is not null then 'cannot_tell'
            when cases.exit_day > protocol.take_to then 'cannot_tell'
            when exit_reason.is_failure then 'sure_no'
            else 'cannot_tell'
        end as answer
    from case_list as cases
    cross join take_threshold as threshold
    cross join protocol
    left join reading using (case_code)
    left join code as exit_reason on exit_reason.field = 'exit_reason' and exit_reason.code = cases.exit_reason
),

answered as (
    select
        judged.*,
        case
            when status = 'excluded' and not is_later then reason
            when not is_free_graft then 'not a free graft'
            when viable_pct is not null and answer = 'cannot_tell' then 'doubtful part straddles the threshold'
            when viable_pct is not null then null
            when exit_day <= take_to and ends_graft then exit_words || ' by day ' || take_to || ', take not read'
            else 'not looked at between day ' || take_from || ' and ' || take_to
        end as why
    from judged
)

select
    case_code,
    animal,
    species,
    method,
    method_group,
    location,
    threshold_pct,
    is_primary,
    read_on_day,
    viable_pct,
    uncertain_pct,
    lost_full_pct,
    loss_depth,
    case when is_later then 'excluded' else answer end as status,
    case when is_later then reason else why end as reason,
    answer as status_each,
    why as reason_each
from answered
