"""Words of the sheet for the customer: templates over the verdict's grounds and step, no term of the trade, no logic.

What each fault means, and what is done about it, is common practice of damper rebuilding put in plain words, no source.
"""

from __future__ import annotations

from typing import NamedTuple

from dampkit.outcome.decision_record import Action
from dampkit.outcome.ground import FELT_BY_HAND
from dampkit.report.faults_told import OPEN_IT


class Answer(NamedTuple):
    headline: str
    sentence: str


ANSWERS: dict[Action, Answer] = {
    "fit": Answer("It may go on the car.", "On the day of the test the damper did what was asked of it."),
    "adjust": Answer(
        "It has to be adjusted before it goes on the car.", "The damper works, but its force is not right yet."
    ),
    "rebuild": Answer("It has to be repaired before it goes on the car.", "Do not have it fitted as it is."),
    "replace": Answer(
        "It must not go on a car any more.",
        "What is wrong with it cannot be put right safely. You need another damper.",
    ),
    "retest": Answer(
        "There is no answer yet: it has to be tested again.", "Do not have it fitted before we have tested it again."
    ),
    "undecided": Answer(
        "There is no answer yet: something has to be found out first.",
        "The measurement is good, but it is not enough to judge by. Do not have the damper fitted before we have an answer.",
    ),
}

# step -> the answer, where the step says more than the action does
STEP_ANSWERS: dict[str, Answer] = {
    "look_then_set": Answer(
        "It has to be opened and looked at before it goes on the car.",
        "The damper works, but its force is not right yet.",
    ),
    "look_then_fit": Answer(
        "It may go on the car once we have looked at the rest.",
        "On the day of the test the damper did what was asked of it.",
    ),
    "renew_then_fit": Answer(
        "It may go on the car once a part beside it is renewed.",
        "On the day of the test the damper did what was asked of it.",
    ),
    "declare_bench": Answer(
        "There is no answer yet: something has to be found out first.",
        "Something about the measurement has to be cleared up. Do not have the damper fitted before we have an answer.",
    ),
    "other_car": Answer(
        "It does not suit this car.", "Nothing was found broken in it, but it cannot be made right for this car."
    ),
    "fit_another": Answer(
        "It is to be replaced.", "It would have to be repaired, but the parts for that cannot be had."
    ),
    "order": Answer("It is to be replaced.", "It would have to be repaired, but another one is the better course."),
}

WAYS = {"rebound": "pulled out", "compression": "pushed in"}

# key of a ground -> what was found
FOUND: dict[str, str] = {
    "dead": "When it is {way}, it makes next to no force.",
    "absurd_share": "Its force is shared between pulling out and pushing in as in no sound damper. That has to be cleared up first.",
    "alike_in": "It holds as firmly one way as the other. How firm it ought to be is not known to us.",
    "reference_in": "Every force that we could compare is right for this damper.",
    "ratio_in": "It is right for this car.",
    "ratio_soft": "It is too soft for this car: after a bump the car would go on swinging.",
    "ratio_stiff": "It is too firm for this car: you would feel bumps more than you have to.",
    "reference_out": "When it is {way} it is too {much}: we measured {measured} at a speed of {velocity}; right would be {window}.",
    "need_out": "For this car it is too {much} when it is {way}: we measured {measured} at a speed of {velocity}; right would be {window}.",
    "nothing_to_compare": "We have no figures yet of what is right for this damper, nor for the car.",
    "direction_open": "The record does not say which way the damper was being pulled out, so its two ways may be mixed up.",
    "data": "Something about the measurement itself has to be put right before we can rely on it.",
    "no_part_makes_it": "What makes it so has to be found first.",
    "cannot_be_made": "Nothing that can be set or changed in it would make it right.",
    "parts_missing": "The parts to repair it cannot be had.",
    "money": "We have weighed what repairing it costs against another damper.",
    "felt": "Moved by hand it takes hold at once at both ends.",
    "unseen": "Some points have not been looked at by eye yet.",
    "no_fault": "In what we could test we found no fault.",
}
FAULT_OTHER = "Something in it does not work as it should."
SUSPECTED = "We suspect, but are not sure: {fault}"
NOT_JUDGED = "This showed as well, but is not certain until the rest is put right: {fault}"
ASKED: dict[str, str] = {
    "lost_motion": "It moves {value} before it takes hold; at most {limit} is allowed.",
    "friction": "It rubs with a force of {value}; at most {limit} is allowed.",
    "work_lost": "It loses {value} of its work as it warms up; at most {limit} is allowed.",
}
ASKED_OTHER = "One of the values that every damper has to keep is not kept."

# what could not be told: kind of ground -> words
OPEN: dict[str, str] = {
    "reference_open": "whether all of its forces are right: some are too close to the limit",
    "reference_untested": "whether all of its forces are right: some were not measured",
    "asked_open": "whether it moves too far before it takes hold: the value is too close to the limit",
    "side_load_open": "how much it rubs when the wheel presses it sideways",
    "side_load_unseen": "how much it rubs when the wheel presses it sideways",
    "ratio_open": "whether it suits this car",
    "not_compared": "whether its force is right at all speeds: for some there is nothing to compare with",
    "not_tested": "how it behaves at speeds that were not tested",
}
# what was found by eye and hand -> what is answered by it though no test showed it; common practice, no source
ANSWERED: dict[str, tuple[str, ...]] = {
    "rod_straight: yes": ("bent_rod",),
    "hand_stroke: no dead travel": FELT_BY_HAND,
}
OPEN_MORE = "and more, which the pages for the workshop name"
UNCHECKED_OTHER = "whether something is wrong that this test does not show"

# what eyes and hands found
SEEN: dict[str, str] = {
    "rod_straight: no": "Its rod is bent. A bent rod cannot be straightened safely.",
    "rod_pitting: in seal travel": "Its rod is rusted or pitted where the seal runs, so no seal would last on it.",
    "bore: scored beyond honing": "Its tube is scratched too deeply inside to be used again.",
    "bore: scored, hones out": "Its tube is scratched inside, but can be made smooth again.",
    "body: dented at the bore": "Its tube is dented, so it may jam.",
    "body: cracked": "Its body is cracked and may burst.",
    "eyes: cracked": "One of its fixing eyes is cracked and may let go on the road.",
    "eyes: worn bush": "The rubber or bush of a fixing eye is worn.",
    "leak: damp": "It is damp with oil: its seal has begun to let oil through.",
    "leak: running": "Oil runs out of it: its seal is gone.",
    "oil_level: low": "It came to us with too little oil in it.",
    "oil_level: empty": "It came to us without oil in it.",
    "hand_stroke: dead travel": "Moved by hand it gives way for a moment at each end before it takes hold.",
    "oil_look: milky": "There is water in its oil.",
    "oil_look: metal in it": "There is metal in its oil: something inside wears.",
    "tight_place_turned: moves with the rod": "It catches at one place because its rod is bent.",
    "tight_place_turned: stays": "It catches at one place because its tube is scratched or dented.",
    "upper_bearing: rough": "The bearing above the strut runs roughly.",
    "upper_bearing: seized": "The bearing above the strut is stuck.",
    "rod_bush: side play": "Its rod can be moved sideways, so its seal cannot last.",
    "shaft: play": "Its shaft has play, so its seal cannot last.",
    "discs: glazed": "Its friction discs are polished smooth.",
    "discs: oil on dry discs": "There is oil on its friction discs, which have to be dry.",
    "discs: cracked": "One of its friction discs is cracked.",
    "disc_pack: under the least allowed": "Its friction discs are worn out.",
    "at_full_lock: meets its stop": "It comes to its end before the steering does. That is dangerous and must not stay so.",
    "soak_lost_g": "It lost oil while it stood here, so its seal lets oil through.",
    "oil_added_ml": "Oil was added before the test, so some has gone somewhere.",
}
SEEN_OTHER = "Something was seen on it that speaks against using it as it is."

TESTED_AGAIN = "After that it is tested again, and you get a new sheet."
WORK_OTHER = "The damper is opened, and what is wrong in it is put right."

_AGAIN = "We test it again, in a way that shows what is missing above."
# step -> what is done; of a step such as remedy:low_oil the part before the colon
DONE: dict[str, tuple[str, ...]] = {
    "fit": ("Nothing has to be done to the damper. It can be fitted.",),
    "look_then_fit": ("We look at the points that are still open. If they are good, it can be fitted.",),
    "renew_then_fit": ("The part named above is renewed. Then the damper can be fitted.",),
    "out_of_use": (
        "The damper is taken out of use, and you need another one.",
        "Ask us whether its maker allows the damaged part to be renewed.",
    ),
    "fit_another": ("You need another damper.",),
    "other_car": ("You need a damper that was made for this car. This one may serve the car that it was made for.",),
    "renew:rod": (OPEN_IT.format(what="its rod is renewed"), TESTED_AGAIN),
    "renew:bore": (OPEN_IT.format(what="its tube is renewed inside"), TESTED_AGAIN),
    "renew:rod+bore": (OPEN_IT.format(what="its rod and its tube are renewed"), TESTED_AGAIN),
    "data": ("We put the measurement right and test the damper again.",),
    "declare_bench": ("We add what is missing to the record and work it out again. Nothing has to be measured again.",),
    "level_or_bubbles": (
        "We let it rest and test it again, to see whether oil is missing or there are bubbles in it.",
    ),
    "renew_bush": ("The worn bush is renewed, and the damper is tested again before it is opened.",),
    "open_it": (OPEN_IT.format(what="what was seen is put right"), TESTED_AGAIN),
    "open_discs": ("It is taken apart, its friction discs are cleaned or renewed, and it is set again.", TESTED_AGAIN),
    "set_clamp": ("The pressure on its friction discs is set.", TESTED_AGAIN),
    "renew_discs": ("Its friction discs are renewed.", TESTED_AGAIN),
    "which_way_is_out": ("We find out which way is which, and work it out again. That takes a moment.",),
    "dead_side": ("We check the test bench, move the damper by hand and test it again.",),
    "not_met": ("We find out why, and test it again.",),
    "renew_parts": (OPEN_IT.format(what="the parts that set its force are renewed"), TESTED_AGAIN),
    "look_then_set": ("The damper is opened and looked at before anything is adjusted.", TESTED_AGAIN),
    "set_to_need": (
        "Its force is adjusted to what this car needs, or you take a damper that was made for it.",
        TESTED_AGAIN,
    ),
    "set_valve": ("Its force is adjusted to what is right for it.", TESTED_AGAIN),
    "set_firmer": ("It is adjusted to be firmer, or you take a damper that was made for this car.", TESTED_AGAIN),
    "set_softer": ("It is adjusted to be softer, or you take a damper that was made for this car.", TESTED_AGAIN),
    "give_reference_or_car": (
        "We look up what is right for this damper, or for your car. It need not be tested again.",
    ),
    "cover": (_AGAIN,),
    "declare_more": ("We look up what is missing above. It need not be tested again.",),
    "look_into": (_AGAIN,),
    "order": ("We order another damper for you.",),
}
DONE_OTHER = ("The pages for the workshop say what is done next.",)

CAUTIONS_ALWAYS = (
    "This sheet says how this one damper behaved on our test bench on the day of the test. It is no certificate that the car "
    "is fit for the road. The maker's instructions, the law of the place and licensed workshops come first.",
    "Fitting a damper is work for a licensed workshop: springs hold enough force to kill. Dampers of one axle belong together; "
    "have the other one tested too.",
)
CAUTION_NOT_FIT = "Do not drive with a damper that we have not released. With a bad damper a car takes longer to stop and may leave the road."
CAUTION_FIT = "If the car later bounces, pulls to one side or knocks, or oil shows on the damper, have it looked at."
CAUTION_OIL = (
    "The damper may be under pressure. Never open, drill, cut or heat it, and do not throw it away: oil and gas in it can "
    "injure you and harm the ground. Bring it to us."
)
CAUTION_DRY = "Old friction discs may hold asbestos. Never open, blow out, brush or sand the damper, and do not throw it away. Bring it to us."
