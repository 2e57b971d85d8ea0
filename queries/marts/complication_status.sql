-- One row a reconstruction and question: had it a complication of that kind by the protocol's day?
-- An exit by amputation for the wound or related death is itself one, whether or not a row says so.
-- None by then is sure only where somebody saw, or heard of, the animal on that day or later.

with question as (
    select unnest([
        'any', 'other_than_graft_loss', 'major_or_worse', 'catastrophic', 'infection_recipient', 'infection_donor',
        'limb_lost_or_related_death', 're_operated'
    ]) as question
),

event as (
    select
        case_code, first_seen_day, last_free_day, grade, is_graft_loss, is_infection, site, is_limb_or_life_lost,
        is_re_operated, true as is_row
    from complication
    where counts
    union all
    select
        cases.case_code, cases.exit_day, cases.exit_day, 'catastrophic', false, false, 'recipient', true, false, false
    from case_list as cases
    inner join code as exit_reason on exit_reason.field = 'exit_reason' and exit_reason.code = cases.exit_reason
    where exit_reason.is_limb_or_life_lost
    union all
    select case_code, exit_day, exit_day, null, false, false, 'recipient', false, true, false
    from case_list
    where exit_group = 're_operated'
),

answered as (
    select
        event.*,
        question.question,
        case question.question
            when 'any' then is_row or is_limb_or_life_lost
            when 'other_than_graft_loss' then (is_row or is_limb_or_life_lost) and not is_graft_loss
            when 'major_or_worse' then grade in ('major', 'catastrophic')
            when 'catastrophic' then grade = 'catastrophic'
            when 'infection_recipient' then is_infection and site <> 'donor'
            when 'infection_donor' then is_infection and site = 'donor'
            when 'limb_lost_or_related_death' then is_limb_or_life_lost
            when 're_operated' then is_re_operated
        end as is_meant,
        is_row and grade is null and question.question in ('major_or_worse', 'catastrophic') as is_ungraded
    from event
    cross join question
),

summed as (
    select
        answered.case_code,
        answered.question,
        count(*) filter (where is_meant and first_seen_day <= protocol.complication_by) as events,
        count(*) filter (where is_meant and is_row and first_seen_day <= protocol.complication_by) as complications,
        max_by(answered.grade, severity.rank)
            filter (where is_meant and first_seen_day <= protocol.complication_by) as worst_grade,
        count(*) filter (where is_ungraded and first_seen_day <= protocol.complication_by) as ungraded,
        count(*) filter (
            where is_meant and last_free_day < protocol.complication_by and first_seen_day > protocol.complication_by
        ) as perhaps
    from answered
    cross join protocol
    left join code as severity on severity.field = 'grade' and severity.code = answered.grade
    group by answered.case_code, answered.question
),

contact as (
    select case_code, max(visit_day) as last_contact_day
    from stg_visits
    group by case_code
),

donor_site as (
    select distinct case_code
    from stg_donor_sites
),

followed as (
    select
        cases.*,
        coalesce(
            greatest(
                contact.last_contact_day, cases.last_seen_day, case when exit_group = 'followed' then exit_day end
            ), 0
        ) as followed_to,
        donor_site.case_code is not null as has_donor_site,
        protocol.complication_by as by_day
    from case_list as cases
    cross join protocol
    left join contact using (case_code)
    left join donor_site using (case_code)
),

judged as (
    select
        followed.*,
        question.question,
        summed.worst_grade,
        coalesce(summed.complications, 0) as complications,
        summed.events,
        summed.ungraded,
        summed.perhaps
    from followed
    cross join question
    left join summed using (case_code, question)
)

select
    case_code,
    animal,
    species,
    method,
    method_group,
    location,
    question,
    case
        when status = 'excluded' then 'excluded'
        when events > 0 then 'sure_yes'
        when question = 'infection_donor' and not has_donor_site then 'excluded'
        when ungraded > 0 or perhaps > 0 or followed_to < by_day then 'cannot_tell'
        else 'sure_no'
    end as status,
    case
        when status = 'excluded' then reason
        when events > 0 then null
        when question = 'infection_donor' and not has_donor_site then 'no donor site'
        when ungraded > 0 then 'a complication without a grade'
        when perhaps > 0 then 'first seen later, may have begun by day ' || by_day
        when followed_to < by_day then 'not followed to day ' || by_day
    end as reason,
    worst_grade,
    complications
from judged
