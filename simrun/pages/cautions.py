"""What is said on every page about what it does not hold, and the standing caution."""

NOT_IN_IT = (
    "Left out: falls, elbows, mud that changes during the race, any wind but a steady one that the "
    "scenario gives, ropes and spectators."
)

LEFT_OUT = f"{NOT_IN_IT} One race is one story: another seed tells another."

CAUTION = (
    "Not a safety assessment. Falls, pushing and medical events are not simulated. Course approval, "
    "field limits, recall and medical cover are decided by the referee, the games committee, the "
    "governing body and licensed medical staff under the local rules. The models behind the figures "
    "were measured mostly on walking crowds and road starts."
)
