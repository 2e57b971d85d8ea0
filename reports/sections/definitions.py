"""The last sections: the protocol as it stood, definitions, scales, and the methods with their sources."""

from audit.analyses.healing import HealingAnswer
from audit.protocol import Protocol
from reports import wording
from reports.document import Column, Section, Table

TERMS = (
    ("Day 0", "The day of the operation. By day k means on or before day k."),
    ("Sure yes, sure no, cannot tell", "What the records settle, before any model. Cases that cannot be told are never dropped: the "
     "bounds show what they could change."),
    ("Healed", "Complete epithelialisation of the whole defect, seen by a professional or on a photograph. A telephone call moves nothing."),
    ("Healed between", "After the last day seen not epithelialised, up to the first day seen epithelialised."),
    ("Minor, major, catastrophic", "No treatment beyond a bandage; drugs, drainage, sedation or surgery; loss of the limb or related death."),
)  # fmt: skip

SCALES = (
    ("Hair cover", "0", "no hair inside the outline"),
    ("Hair cover", "1", "lone hairs; skin seen everywhere"),
    ("Hair cover", "2", "hair hides skin over less than half"),
    ("Hair cover", "3", "hair hides skin over half or more; outline still to be traced"),
    ("Hair cover", "4", "outline not to be traced from one metre without parting the coat"),
    ("Look: edge", "0 to 3", "not to be found; found on close look; seen at arm's length; seen across a room"),
    ("Look: level", "0 to 3", "flush; slight step felt; step seen; ridge or hollow that casts a shadow"),
    ("Look: skin tone", "0 to 3", "as beside it; slightly off; clearly off; like a scar or shiny"),
    (
        "Look: pull",
        "0 to 3",
        "none; faint lines; skin or pad beside it displaced; joint, eyelid or lip held out of place",
    ),
    ("Look: surface", "0 to 3", "sound; dry or flaky; thickened or callused; cracks or bleeds"),
    ("Limb use", "3 to 0", "no difference at any pace; only after hard exercise or on the pad; lame at walk; not used"),
)

COUNTED = {
    "first_per_animal": "One operation. A re-graft is another one; the first of each animal is counted unless a table says otherwise.",
    "every_reconstruction": "One operation. A re-graft is another one; every one of an animal is counted, and intervals allow for "
    "reconstructions of one animal being alike.",
}

METHODS = (
    ("Share of cases", "Wilson interval; with several grafts an animal, ratio estimator with the animal as cluster and Wilson on the "
     "effective number", "Wilson, J Am Stat Assoc 1927;22:209; Rao and Scott, Biometrics 1992;48:577; Korn and Graubard, Surv Methodol "
     "1998;24:193"),
    ("Partial pooling", "Beta-binomial model integrated on a grid", "Gelman and others, Bayesian Data Analysis, 3rd edition 2013, chapter 5"),
    ("Mean percent take", "Bayesian bootstrap of animals, half an animal added at 0 and at 100 %", "Rubin, Ann Stat 1981;9:130"),
    ("Time to healing", "Nonparametric maximum likelihood from visit intervals with competing exits, to a proven maximum; profile-"
     "likelihood intervals", "Turnbull, J R Stat Soc B 1976;38:290; Hudgens, Satten and Longini, Biometrics 2001;57:74; Thomas and "
     "Grunkemeier, J Am Stat Assoc 1975;70:865"),
    ("Follow-up", "Reverse Kaplan-Meier", "Schemper and Smith, Control Clin Trials 1996;17:343"),
    ("Grades", "Probability of superiority with placement values summed by animal", "Obuchowski, Biometrics 1997;53:567; Brunner and "
     "Munzel, Biom J 2000;42:17"),
    ("Grades of several methods", "Kruskal-Wallis with ties, permutation of animals; pairs by Dunn's test with Holm's correction",
     "Kruskal and Wallis, J Am Stat Assoc 1952;47:583; Dunn, Technometrics 1964;6:241; Holm, Scand J Stat 1979;6:65"),
    ("Owners' marks of two methods", "Median of all differences, with the interval that the rank-sum test leaves open", "Hodges and "
     "Lehmann, Ann Math Stat 1963;34:598"),
    ("Bandage changes", "Mean cumulative function with variance by animal", "Nelson, J Qual Technol 1988;20:24; Lawless and Nadeau, "
     "Technometrics 1995;37:158"),
    ("Median of measured values", "Exact interval by the sign test", "Conover, Practical Nonparametric Statistics, 3rd edition 1999"),
    ("Edge advance", "Change of area over mean perimeter, a day", "Gilman, Wounds 1990;2:95 (from memory)"),
    ("Agreement of raters", "Krippendorff's alpha (ordinal) and Gwet's AC2, bootstrap of animals; weighted kappa of just two raters",
     "Krippendorff, Content Analysis, 4th edition 2018; Gwet, Handbook of Inter-Rater Reliability, 4th edition 2014; Cohen, Psychol "
     "Bull 1968;70:213"),
    ("Factors of healing, take, hair", "Weibull accelerated failure time from visit intervals, Firth's logistic regression, proportional "
     "odds; clustered by animal", "Kalbfleisch and Prentice 2002; Firth, Biometrika 1993;80:27; McCullagh, J R Stat Soc B 1980;42:109"),
    ("Curves of kinds of graft", "Log-rank for interval-censored days, permutation of animals", "Sun, Stat Med 1996;15:1387"),
    ("Take over one mix of sites", "Direct standardisation, only where every kind has cases at every site", "Keiding and Clayton, Stat Sci "
     "2014;29:529"),
    ("What chance alone allows", "Exact binomial limits around the share of the species", "Spiegelhalter, Stat Med 2005;24:1185"),
    ("Difference from a published share, or of cats and dogs", "Square-and-add of the two intervals; p by permutation of animals",
     "Newcombe, Stat Med 1998;17:873; Zou and Donner, Stat Med 2008;27:1693; Phipson and Smyth, Stat Appl Genet Mol Biol 2010;9:39"),
)  # fmt: skip


def definition_sections(protocol: Protocol) -> tuple[Section, ...]:
    """Definitions and methods, which are all in tables, and when the protocol was settled."""
    return (
        Section(id="definitions", title="Definitions and methods", question="What do the words and numbers mean?"),
        Section(
            id="protocol", title="The protocol", question="What was settled, and when?", sentences=(_frozen(protocol),)
        ),
    )


def term_table(protocol: Protocol) -> Table:
    """A row a word that this report uses in a sense of its own."""
    day_0, *others = TERMS
    rows = (day_0, ("Reconstruction", COUNTED[protocol.analysis.unit]), *others)
    return Table("terms", "Words", (Column("Word"), Column("Meaning")), rows)


def scale_table() -> Table:
    """A row a grade of each scale."""
    return Table(
        "scales", "Scales of our own, unvalidated", (Column("Scale"), Column("Grade"), Column("Words")), SCALES
    )


def method_table(protocol: Protocol, healing: HealingAnswer) -> Table:
    """A row a method with its source, and how near the healing curves came to their maximum."""
    gap = max((curve.incidence.kkt_gap for curve in healing.overall), default=0.0)
    return Table(
        "methods", "Methods and their sources", (Column("For"), Column("Method"), Column("Source")), METHODS,
        (f"Intervals at {wording.percent(protocol.analysis.level)}. Largest gap of a healing curve to its maximum: "
         f"{'below one in a million' if gap < 1e-6 else f'{gap:.1e}'} in log-likelihood.",),
    )  # fmt: skip


def _frozen(protocol: Protocol) -> str:
    if protocol.frozen is None:
        return "This protocol was not frozen: its definitions may have been chosen after the results were seen."
    return f"This protocol was frozen on {protocol.frozen.on}; its hash is {protocol.frozen.sha256}."


def protocol_table(protocol: Protocol) -> Table:
    """A row a term of the protocol, as it was settled."""
    content = protocol.model_dump(mode="json", exclude={"frozen", "rule_of_thumb"})
    rows = [
        (part.replace("_", " "), name.replace("_", " "), _plain(value))
        for part, values in content.items()
        for name, value in values.items()
    ]
    rows += [("rule of thumb", rule.name, rule.says) for rule in protocol.rule_of_thumb]
    return Table(
        "protocol-terms", "Every term of the protocol", (Column("Part"), Column("Term"), Column("Value")), tuple(rows)
    )


def _plain(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_plain(item) for item in value) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value).replace("_", " ") or "none"
