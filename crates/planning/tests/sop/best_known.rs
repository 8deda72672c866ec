/// Name and best known value, from the later literature's tables (second hand).
///
/// Instances: TSPLIB, SOP, Reinelt 1991 (ORSA J. Computing 3, 376). TSPLIB's own old list is too
/// low for p43 as distributed: 83005 for p43.4 is proven.
pub const BEST_KNOWN: [(&str, i64); 26] = [
    ("ESC07", 2_125),
    ("ESC11", 2_075),
    ("ESC12", 1_675),
    ("ESC25", 1_681),
    ("ESC63", 62),
    ("ESC78", 18_230),
    ("br17.10", 55),
    ("ft53.1", 7_531),
    ("ft53.2", 8_026),
    ("ft53.3", 10_262),
    ("ft70.1", 39_313),
    ("ft70.3", 42_535),
    ("ft70.4", 53_530),
    ("kro124p.1", 39_420),
    ("kro124p.2", 41_336),
    ("kro124p.4", 76_103),
    ("p43.1", 28_140),
    ("p43.2", 28_480),
    ("p43.4", 83_005),
    ("prob.100", 1_163),
    ("rbg048a", 351),
    ("rbg109a", 1_038),
    ("rbg150a", 1_750),
    ("ry48p.1", 15_805),
    ("ry48p.2", 16_666),
    ("ry48p.3", 19_894),
];
