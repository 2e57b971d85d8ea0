-- One row a rating: what one rater gave one item, hidden repeats included.

select
    cases.case_code,
    cases.animal,
    cases.species,
    cases.method_group,
    scores.item,
    scores.rater_code,
    scores.rater_role,
    scores.photo_day as day,
    scores.value,
    scores.is_repeat,
    scores.blinded_to_method,
    scores.blinded_to_day,
    scores.clipped,
    scores.order_number,
    scores.confidence,
    list_contains(scores.absent, 'value=not_applicable') as is_not_applicable,
    cases.status,
    cases.reason
from stg_scores as scores
inner join case_list as cases using (case_code)
