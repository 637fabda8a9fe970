"""A bore or a pit held against the job file's rules, beside the records that its job has already."""

from conflicts.exchange.bore_plausibility import bore_plausibility_faults
from conflicts.exchange.bore_records import bore_features, feature_of_bore, feature_of_pit
from conflicts.exchange.bore_rules import bore_faults
from conflicts.exchange.bores_in_file import bore_length_faults, bore_reference_faults
from conflicts.models import Bore, Pit
from locates.errors import JobFileError
from locates.exchange.record_beside import faults_beside


def bore_faults_beside(bore: Bore) -> list[JobFileError]:
    """What a job file that holds the bore's job would be refused for if the bore stood in it as it is."""
    # Its pits name it, and it may just have got another name.
    return faults_beside(
        bore.job_id,
        feature_of_bore(bore),
        more_features=lambda job: [one for one in bore_features(job) if one["properties"]["kind"] == "bore"],
        meaning_rules=(bore_faults, bore_plausibility_faults),
        file_rules=(bore_reference_faults, bore_length_faults),
    )


def pit_faults_beside(pit: Pit) -> list[JobFileError]:
    """What a job file that holds the pit's job would be refused for if the pit stood in it as it is."""
    return faults_beside(
        pit.bore.job_id,
        feature_of_pit(pit.bore, pit),
        more_features=bore_features,
        meaning_rules=(bore_plausibility_faults,),
        file_rules=(bore_reference_faults,),
    )
