"""Words that head the columns of records, and words for the two directions: lower case, accents off; matched whole or as the
end of a compound."""

from __future__ import annotations

import re
import unicodedata

from dampkit.quantities import DIRECTIONS, Direction

_WORDS = {
    "time": """
        time zeit temps tiempo tempo tid tijd czas cas aika ido zaman elapsed timestamp elapsedtime 時間 时间 время""",
    "clock": "clock uhrzeit heure hora orario klok klocka klokkeslett godzina timeofday daytime",
    "sample": """
        sample samples samplenumber index nr scan record messpunkt datenpunkt echantillon muestra campione probka row #
        n""",
    "displacement": """
        displacement displ disp stroke position pos travel way weg hub federweg auslenkung deplacement course
        desplazamiento carrera posicion recorrido posizione corsa spostamento slag verplaatsing positie przemieszczenie
        skok droga zdvih draha vandring vei iskuliike asema yol 変位 位移 ход перемещение""",
    "velocity": """
        velocity vel speed geschwindigkeit geschw vitesse velocidad velocita snelheid hastighet predkosc rychlost
        nopeus sebesseg hiz 速度 скорость""",
    "force": """
        force load loadcell kraft last effort charge fuerza carga forza carico kracht belasting sila voima ero kuvvet
        荷重 力 сила усилие""",
    "temperature": """
        temperature temp temperatur temperatura temperatuur teplota lampotila homerseklet sicaklik thermocouple
        温度 температура""",
    "angle": "angle crank crankangle winkel kurbelwinkel drehwinkel phase angulo angolo hoek vinkel kat 角度 угол",
    # not a measured channel, whatever else the header says
    "other": """
        peak max min maximum minimum command cmd demand setpoint target soll sollwert consigne mean avg average mittel
        rms""",
    # of several temperatures the first of these wins
    "best temperature": "oil ol oel huile aceite olio olie body gehause housing damper dampfer",
}
WORDS: dict[str, tuple[str, ...]] = {kind: tuple(words.split()) for kind, words in _WORDS.items()}
SYMBOLS = {"t": "time", "x": "displacement", "v": "velocity", "F": "force", "T": "temperature"}  # case matters
COMPOUND_ENDINGS = {"weg", "hub"} | {w for words in WORDS.values() for w in words if len(w) >= 4 and w.isascii()}
MISSING = {"", "-", "--", "---", "nan", "na", "n/a", "#n/a", "null", "none", "nil", "?"}

_RATES = (
    r"(?:sampl\w*|scan|log\w*|acquisition|data|abtast\w*|mess)[\s_-]*(?:rate|freq\w*|frequenz)",
    r"abtastrate|abtastfrequenz|messrate|samplingsfrekvens|bemonsteringsfrequentie|^\W*rate\b",
    r"fr[eé]quence d.[eé]chantillonnage|frecuencia de muestreo|frequenza di campionamento",
)
_INTERVALS = (
    r"(?:sampl\w*|scan|abtast\w*|time)[\s_-]*(?:interval\w*|period\w*|step)",
    r"abtastintervall|zeitschritt|^\W*(?:dt|delta ?t)\b",
)
RATE, INTERVAL = "|".join(_RATES), "|".join(_INTERVALS)


def words_of(text: str) -> frozenset[str]:
    """The words of a heading or a cell: lower case, accents off."""
    plain = unicodedata.normalize("NFKD", text.lower())
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return frozenset(re.findall(r"[^\W\d_]+", bare))


_WAYS: dict[Direction, str] = {
    "rebound": """
        rebound reb extension ext tension out pull zug zugstufe ausfedern detente estensione rebote uitgaand odbicie
        retur 伸び 伸""",
    "compression": """
        compression comp compr bump jounce in push druck druckstufe einfedern compresion compressione ingaand dobicie
        縮み 縮""",
}
WAYS: dict[Direction, frozenset[str]] = {way: words_of(names) for way, names in _WAYS.items()}
# What heads a column beside the channels of a log. A rate is of the crank: turns a minute, or cycles a second.
QUANTITIES: dict[str, frozenset[str]] = {
    "direction": words_of("direction dir way richtung sens direccion direzione richting kierunek riktning"),
    "setting": words_of("setting settings click clicks turn turns klick klicks clic clics stufe"),
    "arm": words_of("arm lever hebel hebelarm bras leva"),
}
PER_SECOND: dict[str, float] = {
    **dict.fromkeys(("rpm", "1/min", "min-1", "u/min", "cpm"), 1 / 60),
    **dict.fromkeys(("hz", "1/s"), 1.0),
}
POSITIVE = words_of("positive plus pos positiv")


def way_in(text: str) -> Direction | None:
    """The direction that a heading or a cell names; None where it names none, or both."""
    words = words_of(text)
    found = [way for way in DIRECTIONS if WAYS[way] & words]
    return found[0] if len(found) == 1 else None
