"""From typed findings, grounds and steps to sentences: the one place where they are made, in SI or with imperial beside."""

from __future__ import annotations

from collections.abc import Mapping

from dampkit.needs.requirement import RATED_SPEED_M_S
from dampkit.outcome.advice_record import AdviceRecord
from dampkit.outcome.decision_record import (
    EvidenceRecord,
    FaultRecord,
    GroundRecord,
    NotLookedForRecord,
    RestoreRecord,
    VerdictRecord,
)
from dampkit.outcome.ground import FIRST
from dampkit.outcome.result import Result
from dampkit.report import fault_words as words
from dampkit.report.faults_told import TOLD, remedy, sentence_of
from dampkit.report.next_test import next_test_worded
from dampkit.report.numbers import Writer, brief
from dampkit.report.oil_lines import oil_lines
from dampkit.report.warm_words import warmth_said
from dampkit.report.ways import said_once, setting_words, way_of

TIMES = 2.0  # from which a force over another is said as so many times it
PERCENT = (
    "work_lost",
    "rises_with_speed",
    "unlike",
    "still_rises",
    "comes_after",
)  # measures that are shares and are said in percent


def worded(result: Result, writer: Writer | None = None) -> Result:
    """The result with every sentence made anew from what it holds; nothing else changes."""
    writer = writer or Writer()
    faults = tuple(_fault(f, result.damper.kind, writer) for f in result.faults)
    lacking = tuple(_not_looked_for(n) for n in result.not_looked_for)
    sheet, warmth = result.inspection, result.warmth
    said = result.model_copy(
        update={
            "faults": faults,
            "not_looked_for": lacking,
            "next_test": next_test_worded(result, writer),
            "next_tests": tuple(words.NEXT_TESTS.get(key, key) for key in result.next_tests),
            "inspection": sheet and sheet.model_copy(update={"against": tuple(map(seen_words, sheet.against))}),
            "warmth": warmth and warmth.model_copy(update={"sentences": warmth_said(warmth, writer)}),
        }
    )
    return said.model_copy(update={"verdict": _verdict(said, writer)})


def sentence(text: str) -> str:
    """With a capital and one full stop."""
    return text[:1].upper() + text[1:].rstrip(". ") + "."


def seen_words(answer: str) -> str:
    return words.SEEN.get(answer, answer)


def faults_said(result: Result) -> list[tuple[str, str]]:
    """Of each fault how it is to be taken, and how sure; no share of sureness before data and direction are put right."""
    if result.verdict.step in FIRST:
        return [("not judged yet", "")] * len(result.faults)
    return [(fault.level, f"{fault.likelihood:.0%}") for fault in result.faults]


def name_of(code: str) -> str:
    return TOLD[code].name if code in TOLD else code.replace("_", " ")


def _fault(fault: FaultRecord, kind: str | None, writer: Writer) -> FaultRecord:
    evidence = tuple(_evidence(e, writer) for e in fault.evidence)
    made = fault.model_copy(update={"evidence": evidence})
    if not all(item.key for item in evidence):  # stored by an earlier version, as sentences alone
        return made
    figures = _figures(made, writer)
    leading = evidence[0].key if evidence else ""
    template = sentence_of(fault.code, leading, kind, read="off" in figures) or name_of(fault.code).capitalize()
    return made.model_copy(update={"sentence": template.format_map(_Figures(figures))})


def _evidence(item: EvidenceRecord, writer: Writer) -> EvidenceRecord:
    if not item.key:
        return item
    figures = {"direction": item.direction or "", "velocity": _velocity(item.velocity_m_s, writer)}
    text = words.MEASURES.get(item.key, item.key.replace("_", " ")).format_map(_Figures(figures))
    return item.model_copy(update={"measure": text, "basis": words.BASES.get(item.basis, item.basis)})


def _figures(fault: FaultRecord, writer: Writer) -> dict[str, str]:
    out: dict[str, str] = {"direction": fault.direction or ""}
    for item in fault.evidence:
        out[item.key] = percent(item.value) if item.key in PERCENT else writer.given(rounded(item.value), item.unit)
        if item.velocity_m_s is not None:
            out.setdefault("velocity", _velocity(item.velocity_m_s, writer))
        if item.key == "opens_at":
            out["opens"] = percent(item.value)
        if item.key == "sliding_force":
            out["weak"] = percent(1 - item.value)
        if item.key == "rises_with_speed":
            out["rises"] = percent(item.value)
    f = fault.figures
    if "measured_n" in f and f.get("wanted_n"):
        times = f["measured_n"] / f["wanted_n"]
        out["off"] = percent(abs(times - 1))
        out["over"] = f"{brief(times, 2)} times" if times > TIMES else f"{out['off']} over"
    if "ratio" in f:
        out["ratio"] = brief(f["ratio"], 2)
        out.setdefault("opens", percent(f["ratio"]))
    if "expected_share" in f:
        out["expected"] = percent(max(f["expected_share"], 0.0))
    if "place_m" in f:
        side = "further out" if f["place_m"] >= 0 else "further in"
        out["place"] = f"{writer.given(abs(1e3 * f['place_m']), 'mm', 2)} {side}"
    return out


def rounded(value: float) -> float:
    """Whole units where there are several, one place below."""
    return float(round(value, 0 if abs(value) >= 4 else 1))


def percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _velocity(velocity_m_s: float | None, writer: Writer) -> str:
    return "" if velocity_m_s is None else writer.given(velocity_m_s, "m/s")


def _not_looked_for(n: NotLookedForRecord) -> NotLookedForRecord:
    if not n.lacks:
        return n
    return n.model_copy(update={"needs": sentence(f"{name_of(n.code)}: needs {needs_words(n.lacks)}")})


def needs_words(lacks: tuple[str, ...]) -> str:
    return " and ".join(words.NEEDS.get(key, key.replace("_", " ")) for key in lacks)


def _verdict(result: Result, writer: Writer) -> VerdictRecord:
    verdict = result.verdict
    if not verdict.grounds:  # stored by an earlier version, as sentences alone
        return verdict
    reasons = tuple(sentence(text) for g in said_once(result) for text in [_ground(g, result, writer)] if text)
    return verdict.model_copy(
        update={
            "reasons": reasons,
            "next_step": " ".join(to_do(result, writer)),
        }
    )


def to_do(result: Result, writer: Writer) -> list[str]:
    """What to do, in its order: the step, what is put back to what, how much oil, how a clamp is set."""
    listed = result.verdict.step == "cover" and result.next_test is not None
    first = _change(result) or _step("cover_listed" if listed else result.verdict.step, result.damper.kind)
    set_to = setting_words(result, writer) if result.verdict.action in ("adjust", "rebuild") else []
    return [first, *put_back(result, writer), *set_to]


def put_back(result: Result, writer: Writer) -> list[str]:
    """What the part at fault is when good and what else is not as in the good valve, and how much oil: figures of the work.

    None where no fault is judged yet.
    """
    if result.verdict.step in FIRST:
        return []
    parts = [p.direction for p in result.restore]
    return [*(_put_back(p, writer, parts.count(p.direction) > 1) for p in result.restore), *oil_lines(result, writer)]


def _ground(ground: GroundRecord, result: Result, writer: Writer) -> str:
    if ground.key in ("fault", "fault_clouded", "not_judged_yet", "suspected"):
        return _about_fault(ground, result)
    if ground.key == "data":
        said = [q.message for q in result.quality if q.code == ground.about and q.severity == "bad"]
        return " ".join(said) or ground.about
    if ground.key == "seen":
        return seen_words(ground.about)
    if ground.key == "unseen":
        missing = () if result.inspection is None else result.inspection.not_established
        return f"Not established by eye: {', '.join(missing)}"
    if ground.key == "money":
        reasons = () if result.courses is None else result.courses.reasons
        return " ".join(reasons)
    return words.GROUNDS[ground.key].format_map(_Figures(_ground_figures(ground, result, writer)))


def _about_fault(ground: GroundRecord, result: Result) -> str:
    said = next((f.sentence for f in result.faults if f.code == ground.about), name_of(ground.about))
    why, _ = remedy(ground.about, result.damper.kind)
    return {
        "fault": f"{sentence(said)} {sentence(why)}",
        "fault_clouded": f"{sentence(said)} Not sure before the first is put right.",
        "not_judged_yet": f"Not judged until then: {said}",
        "suspected": f"Suspected, not proven: {said}",
    }[ground.key]


def _ground_figures(ground: GroundRecord, result: Result, writer: Writer) -> dict[str, str]:
    f = ground.figures
    way = way_of(result, ground.direction) if ground.direction else ""
    out = {"direction": way.capitalize() or "Force", "about": ground.about}
    out["rated"] = writer.given(RATED_SPEED_M_S, "m/s")
    if "velocity_m_s" in f:
        out["velocity"] = _velocity(f["velocity_m_s"], writer)
        out["velocities"] = f"{out['velocity']} of its reference"
    if "to_m_s" in f:
        last = _velocity(f["to_m_s"], writer)
        out["velocities"] = f"{f['count']:.0f} speeds of its reference, {out['velocity']} to {last}"
    if "measured_n" in f:
        out["measured"] = writer.value(f["measured_n"], "N")
        out["window"] = writer.between(f["low_n"], f["high_n"], "N")
        out["side"] = "below" if f["measured_n"] < f["low_n"] else "above"
        out["reads"] = _reads(f, writer)
        out["unsure"] = f": it {out['reads']}, too unsure to be called in or out of its window of {out['window']}"
    if "limit" in f:
        unit = next((r.unit for r in result.requirements if r.name == ground.about), "")
        out["value"], out["limit"] = (writer.given(rounded(f[key]), unit) for key in ("value", "limit"))
    if "low" in f:
        out["wanted"] = f"{f['low']:.2f} to {f['high']:.2f}"
        out["ratio"] = f"{f['ratio']:.2f}" if "ratio" in f else ""
        out["soft"] = "soft" if f.get("ratio", 0.0) < f["low"] else "stiff"
        close = f"damping ratio {out['ratio']}, wanted {out['wanted']}, too close to call"
        out["why"] = close if "ratio" in f else f"the test does not reach {out['rated']}"
    if "share" in f:
        out["share"] = percent(f["share"])
    if "bar" in f:
        out["bar"] = writer.given(f["bar"], "bar", 2)
    if "count" in f:
        out["count"] = f"{f['count']:.0f}"
    if ground.key in ("not_looked_for", "hand_check"):
        codes = ground.about.split("+")
        entry = next((n for n in result.not_looked_for if n.code in codes), None)
        names = ", ".join(name_of(code) for code in codes)
        out |= {"name": names, "needs": needs_words(entry.lacks) if entry else ""}
    return out


def _reads(f: Mapping[str, float], writer: Writer) -> str:
    """What was read is said to read; a value brought to another temperature is called corrected."""
    if "read_n" not in f:
        return f"reads {writer.value(f['measured_n'], 'N')}"
    warm, to = (writer.given(f[key], "°C", 2) for key in ("read_c", "to_c"))
    return f"reads {writer.value(f['read_n'], 'N')} at {warm}, corrected to {to} {writer.value(f['measured_n'], 'N')}"


def _change(result: Result) -> str:
    """The step where parts to change were worked out: those, and no other direction; empty where there are none."""
    advice = result.advice
    if advice is None or result.verdict.action != "adjust" or not advice.parts or advice.parts[0].direction == "both":
        return ""
    listed = [f"{part.direction} {part.part}" for part in advice.parts]
    said = words.STEPS["change"].format(
        parts=" and ".join([", ".join(listed[:-1]), listed[-1]] if listed[1:] else listed)
    )
    if any(part.irreversible for part in advice.parts):
        said += f" {words.STEPS['hole_last']}"
    return said if advice.aim == "reference" else f"{said} {words.STEPS['or_another']}"


def _put_back(r: RestoreRecord, writer: Writer, others: bool) -> str:
    """`others`: more of the same valve is put back."""
    unit = "mm²" if r.unit == "mm2" else r.unit
    now, good = ("", "") if r.unit == "times" else (writer.value(x, unit) for x in (r.now, r.good))
    key = r.part if r.at_fault else f"{r.part} besides"
    if r.part == "bleed" and r.hole_mm is None:
        key += ", sizes unknown"
    if r.part == "leak" and others:
        key += ", more with it"
    hole = "" if r.hole_mm is None else writer.given(r.hole_mm, "mm")
    text = words.RESTORE[key].format(
        direction=r.direction,
        now=now,
        good=good,
        hole=hole,
        times=brief(r.good / max(r.now, 1e-12), 2),
        cure="Clean or renew" if r.good > r.now else "Renew",
    )
    return text if r.sure else f"Once opened and seen to be so: {text[0].lower()}{text[1:]}"


def _step(step: str, unit: str | None) -> str:
    kind, _, about = step.partition(":")
    said = words.STEPS.get(step) or words.STEPS_ABOUT.get(kind) or words.STEPS[kind]
    return said.format(about="both directions" if about == "both" else about, do=remedy(about, unit)[1])


class _Figures(dict[str, str]):
    """Figures of a template; one that is missing is left out rather than shown as a brace."""

    def __init__(self, figures: Mapping[str, str]) -> None:
        super().__init__(figures)

    def __missing__(self, key: str) -> str:
        return ""


def leaves_words(advice: AdviceRecord) -> str:
    """What the change costs the unit as its maker had it; empty where it stays within its reference."""
    if not advice.leaves_reference:
        return ""
    ways = " and ".join(advice.leaves_reference)
    return f"After this change the unit leaves its reference in {ways}: write the change on its card, and change both of an axle."
