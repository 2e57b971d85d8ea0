"""The cautions that stand on the first screen of every report."""

from reports.document import Caution

CAUTIONS = (
    Caution(
        "Not clinical advice.",
        "This page describes past records. It does not tell anyone how to treat an animal. Treatment decisions belong to "
        "the responsible veterinary surgeon; surgery and prescribing are restricted to licensed people, and nurses and "
        "technicians act within their law. Local rules come first.",
    ),
    Caution(
        "Small numbers, unlike cases.",
        "Methods were chosen for the wound, so nothing here compares methods or people. Dogs and cats stand apart. A rule "
        "of thumb is not a standard.",
    ),
    Caution(
        "Audit or research?",
        "Publication, randomising, extra procedures or new questions to owners may need ethics or animal-care approval: "
        "ask the committee before collecting, and get its answer in writing. Retrospective does not mean exempt.",
    ),
    Caution(
        "Owner consent.",
        "To treatment, to use of records, to photographs and to publication: four separate things. Honour withdrawal.",
    ),
    Caution(
        "A code is not anonymity.",
        "Coded records remain personal data while someone holds the key. Rare breed, rare cause, month and town together "
        "can identify a client, and so can a case list: this page is for use inside the practice. Strip photographs of "
        "faces, tags and location. Outcomes by colleague are personal and easily unfair.",
    ),
    Caution(
        "Own scales, abstracts only.",
        "The grades for hair, look and limb use are our own wording and unvalidated. Published figures were read in "
        "abstracts: check the paper before you cite one.",
    ),
    Caution(
        "Antimicrobials.",
        "Few or no infections do not prove that antimicrobials helped, nor that longer is better; culture before treatment, "
        "and follow your national guideline.",
    ),
    Caution(
        "Welfare.",
        "A healed wound at a bad cost to the animal is no success. Ask whether pain, sedation, hospital days and "
        "self-trauma are recorded. Euthanasia and amputation are counted here with respect.",
    ),
)
