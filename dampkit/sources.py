"""Published sources: key -> full citation. A method that claims a source names its key in square brackets.

`how` is "read" where a public copy of the passage was read, "from memory" where the book or standard was not at
hand and the relation was taken from memory of it; such values are checked by a second route in the tests.
"""

from __future__ import annotations

from typing import Literal

from dampkit.frozen import frozen

How = Literal["read", "from memory"]


@frozen
class Source:
    citation: str
    how: How


_READ: dict[str, str] = {
    "qct491": (
        "QC/T 491-2018, Performance requirements and bench test methods of automobile cylindrical dampers "
        "(reprint of requirements read: friction at 5 mm/s or less over 20 mm at most 55 N; diagram full and "
        "smooth, without idle travel)."
    ),
    "testmemos1913": (
        "Test memoranda of a car maker on lever-arm and friction dampers, 1913 to 1940, public archive, record "
        "802ADFE328FB8BF4 (10 lbf at the ball-pin to turn a shaft in tight new bearings)."
    ),
    "astm_d341": (
        "ASTM D341-20, Standard Practice for Viscosity-Temperature Equations and Charts for Liquid Petroleum or "
        "Hydrocarbon Products, ASTM International, 2020 (opening pages and a worked example read)."
    ),
    "barton2018": "D. C. Barton, J. D. Fieldhouse, Automotive Chassis Engineering, Springer, 2018, sec. 3.13.",
    "iso3448": "ISO 3448:1992, Industrial liquid lubricants - ISO viscosity classification.",
    "khurmi": (
        "R. S. Khurmi, J. K. Gupta, A Textbook of Machine Design, S. Chand, 2005, ch. 23 (springs), and Theory of "
        "Machines, S. Chand, 2005, ch. 23 (vibrations): problems read, answers partly from memory."
    ),
    "nist_strd": (
        "NIST Statistical Reference Datasets, Nonlinear Regression (Misra1a, DanWood, BoxBOD), National Institute "
        "of Standards and Technology, 1999 onward."
    ),
    "qct545": "QC/T 545-1999, Telescopic damper for automobiles - bench test method (clauses 1 to 2.4 read).",
    "rabie2009": (
        "M. G. Rabie, Fluid Power Engineering, McGraw-Hill, 2009, ch. 2 (orifice flow p. 27, eq. 2.39; leakage eq. "
        "2.19)."
    ),
    "rao": (
        "S. S. Rao, Mechanical Vibrations, 5th ed., Prentice Hall, 2011, ch. 2 (logarithmic decrement; shock "
        "absorber of a motorcycle) and ch. 3 (equivalent viscous damping)."
    ),
    "ruan2006": (
        "J. Ruan, R. Burton, Bulk modulus of air content oil in a hydraulic cylinder, ASME IMECE2006-15854, 2006 "
        "(abstract read)."
    ),
    "wcag22": "W3C, Web Content Accessibility Guidelines (WCAG) 2.2, 2023.",
}

_FROM_MEMORY: dict[str, str] = {
    "abramowitz1964": "M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, NBS, 1964, 26.7.",
    "clopper1934": (
        "C. J. Clopper, E. S. Pearson, The use of confidence or fiducial limits illustrated in the case of the "
        "binomial, Biometrika 26(4), 1934, 404-413."
    ),
    "douglas1973": (
        "D. H. Douglas, T. K. Peucker, Algorithms for the reduction of the number of points required to represent a "
        "digitized line or its caricature, Cartographica 10(2), 1973, 112-122."
    ),
    "iso376": "ISO 376:2011, Metallic materials - Calibration of force-proving instruments used for the verification of "
    "uniaxial testing machines.",
    "iso7500": "ISO 7500-1:2018, Metallic materials - Calibration and verification of static uniaxial testing machines - "
    "Part 1: Tension/compression testing machines, clause 6 and table 2.",
    "kass1995": "R. E. Kass, A. E. Raftery, Bayes factors, J. Am. Stat. Assoc. 90(430), 1995, 773-795.",
    "malcolm1959": (
        "D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Application of a technique for research and "
        "development program evaluation, Operations Research 7(5), 1959, 646-669 (three-point estimates)."
    ),
    "iso16269": (
        "ISO 16269-6:2014, Statistical interpretation of data - Part 6: Determination of statistical tolerance "
        "intervals."
    ),
    "natrella1963": (
        "M. G. Natrella, Experimental Statistics, NBS Handbook 91, 1963, Tables A-6 and A-7 (tolerance factors)."
    ),
    "efron1982": "B. Efron, The Jackknife, the Bootstrap and Other Resampling Plans, SIAM, 1982.",
    "nist_handbook": (
        "NIST/SEMATECH e-Handbook of Statistical Methods, sections 6.3.2 and 6.3.2.2 (control charts for variables and "
        "for individuals), National Institute of Standards and Technology, 2012."
    ),
    "white1980": (
        "H. White, A heteroskedasticity-consistent covariance matrix estimator, Econometrica 48(4), 1980, 817-838."
    ),
    "widrow1996": (
        "B. Widrow, I. Kollar, M.-C. Liu, Statistical theory of quantization, IEEE Transactions on Instrumentation "
        "and Measurement 45 (1996) 353-361."
    ),
    "fritsch1980": (
        "F. N. Fritsch and R. E. Carlson, Monotone piecewise cubic interpolation, SIAM Journal on Numerical Analysis "
        "17(2), 1980, 238-246; from memory."
    ),
    "si2019": (
        "BIPM, The International System of Units (SI Brochure), 9th ed., 2019; standard gravity 9.80665 m/s2, 3rd "
        "General Conference on Weights and Measures, 1901."
    ),
    "schwarz1978": ("G. Schwarz, Estimating the dimension of a model, Annals of Statistics 6(2), 1978, 461-464."),
    "more1978": (
        "J. J. More, The Levenberg-Marquardt algorithm: implementation and theory, Lecture Notes in "
        "Mathematics 630, Springer, 1978, 105-116."
    ),
    "reggia1983": (
        "J. A. Reggia, D. S. Nau and P. Y. Wang, Diagnostic expert systems based on a set covering model, International "
        "Journal of Man-Machine Studies 19 (1983) 437-460."
    ),
    "pearl1988": (
        "J. Pearl, Probabilistic Reasoning in Intelligent Systems, Morgan Kaufmann, 1988 (noisy-OR networks)."
    ),
    "nielsen1999": (
        "H. B. Nielsen, Damping parameter in Marquardt's method, Report IMM-REP-1999-05, Technical University of "
        "Denmark, 1999."
    ),
    "bates1981": (
        "D. M. Bates, D. G. Watts, A relative offset orthogonality convergence criterion for nonlinear least squares, "
        "Technometrics 23(2), 1981, 179-183."
    ),
    "bayley1946": (
        "G. V. Bayley, J. M. Hammersley, The effective number of independent observations in an "
        "autocorrelated time series, Supplement to J. R. Stat. Soc. 8(2), 1946, 184-197."
    ),
    "bhandari": (
        "V. B. Bhandari, Design of Machine Elements, 3rd ed., Tata McGraw-Hill, 2010, ch. 10 (multi-leaf springs)."
    ),
    "dixon2007": "J. C. Dixon, The Shock Absorber Handbook, 2nd ed., Wiley, 2007.",
    "en13906": (
        "EN 13906-1:2013, Cylindrical helical springs made from round wire and bar - Calculation and design - Part "
        "1: Compression springs."
    ),
    "gillespie1992": "T. D. Gillespie, Fundamentals of Vehicle Dynamics, SAE International, 1992, ch. 5 (ride).",
    "ieee1057": "IEEE Std 1057-2017, Digitizing Waveform Recorders (three- and four-parameter sine fits).",
    "iso14253": (
        "ISO 14253-1:2017, Geometrical product specifications - Inspection by measurement - Part 1: Decision rules "
        "for verifying conformity or nonconformity with specifications."
    ),
    "iso2631": (
        "ISO 2631-1:1997, Mechanical vibration and shock - Evaluation of human exposure to whole-body vibration - "
        "Part 1: General requirements (frequency weighting Wk, Table 3; comfort, annex C)."
    ),
    "iso8041": "ISO 8041:2005, Human response to vibration - Measuring instrumentation (filter parameters of Wk).",
    "iso8608": (
        "ISO 8608:2016, Mechanical vibration - Road surface profiles - Reporting of measured data (annex C, classes)."
    ),
    "jcgm100": "JCGM 100:2008, Evaluation of measurement data - Guide to the expression of uncertainty in measurement.",
    "jcgm106": (
        "JCGM 106:2012, Evaluation of measurement data - The role of measurement uncertainty in conformity assessment."
    ),
    "jaso_c602": "JASO C602:2001, Telescopic shock absorbers for automobiles, cl. 8.1 (test speeds; 0.3 m/s rated).",
    "lyapunov": (
        "Y. K. Lin, Probabilistic Theory of Structural Dynamics, McGraw-Hill, 1967 (stationary covariance of a "
        "linear system under white noise: the Lyapunov equation)."
    ),
    "merritt1967": "H. E. Merritt, Hydraulic Control Systems, Wiley, 1967, ch. 3 (orifices, clearances).",
    "okabe_ito2008": (
        "M. Okabe, K. Ito, Color Universal Design: how to make figures and presentations that are friendly to "
        "colorblind people, 2008 (palette of eight colours)."
    ),
    "reimpell": (
        "J. Reimpell, H. Stoll, J. W. Betzler, The Automotive Chassis: Engineering Principles, 2nd ed., "
        "Butterworth-Heinemann, 2001, ch. 5 (springing and damping)."
    ),
    "roark": (
        "W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., McGraw-Hill, 2002, Table 11.2."
    ),
    "sae_hs788": "SAE HS-788, Manual on Design and Application of Leaf Springs, SAE International.",
    "shigley": (
        "R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed., McGraw-Hill, 2011, ch. 10 "
        "(springs) and ch. 3 (torsion)."
    ),
}

SOURCES: dict[str, Source] = {
    **{key: Source(text, "read") for key, text in _READ.items()},
    **{key: Source(text, "from memory") for key, text in _FROM_MEMORY.items()},
}


def citation(key: str) -> str:
    """Full citation with how it was consulted. Raises KeyError for an unknown key."""
    source = SOURCES[key]
    return f"{source.citation} ({source.how})"
