//! What practitioners and their customers say, and what it is a sign of. Common practice of the trade, from memory.
//!
//! A pattern is words in order, at most a few others between them; `a|b` is either, `stem*` any ending.

use super::told::Level::{self, Circuit, Outlet, Site};
use crate::visit::{Pin, Reach, Sign};

/// Things that are named by a harm and mean none.
pub(super) const HARMLESS: [&str; 6] = [
    "smoke alarm",
    "smoke detector",
    "fire alarm",
    "fire door",
    "fire extinguisher",
    "shock absorber",
];

/// Words in order.
pub(super) type Pattern = &'static str;

/// Words of harm to people, or of fire, for a sentence that nothing else is understood of.
pub(super) const HARM: &[Pattern] = &[
    "shock*|tingl*|zap*|jolt*|electrocut*|prickl*",
    "bite|bites|bit me|him|her|us|you|people|back",
    "fire|flame*|smok*|spark*|arc|arcs|arced|arcing|flash|flashed|bang|explo*",
    "burn*|melt*|char|charred|scorch*|singe*|glow*|smell*|stink*|stank|odour|odor",
    "hurt*|injur*|hospital|kill*|danger*|victim",
    "case|chassis|cover|enclosure|cabinet|frame|pipe|tap|faucet|metal|sink|radiator live|energised|energized|hot",
    "live|energised|energized|hot case|chassis|cover|enclosure|cabinet|frame|pipe|tap|faucet|metal|sink|radiator",
];

/// Each row is a sign of its own; a sentence may tell several.
pub(super) const SIGNS: &[(&[Pattern], Sign, Level)] = &[
    (
        &[
            "flicker*|strobe*|strobing",
            "light*|lamp*|bulb* flash*|blink*|puls*|swing*|swung|jump*|unsteady",
            "voltage* swing*|swung|fluctuat*|jump*|wander*|unstable|unsteady",
            "flash*|blink*|puls* light*|lamp*|bulb*",
            "power comes and goes",
            "restart*|reboot* by itself|themselves|alone",
        ],
        Sign::Flicker,
        Site,
    ),
    (
        &[
            "brighten*|brighter",
            "light*|lamp*|bulb* bright",
            "too|very|extra|super|unusually|abnormally bright",
            "dim* and bright",
            "bright* dim*",
            "one leg|phase|side high|higher|low|lower",
            "legs|phases|sides uneven|unequal|unbalanced|imbalanced|differ*",
        ],
        Sign::Brightening,
        Site,
    ),
    (
        &[
            "light*|lamp*|bulb* dim|dims|dimmed|dimming|sag|sags|dip|dips",
            "dims|dimmed|dimming",
            "went|go|goes|gets|grew dim",
            "dim and bright",
        ],
        Sign::Dimming,
        Site,
    ),
    (
        &[
            "destroyed|fried",
            "blew|blown|blow|blows|burn*|burnt out|up",
            "computers|televisions|machines|appliances|equipment|electronics|devices|chargers|supplies|adapters|monitors|bulbs|lamps|loudspeakers|protectors|strips|disks|routers|phones fizzle*|fail|failed|die|died|dead|burn*|damage*|kill*|lost|popped|smoked",
            "all|every|everything|several|many damage|damaged|ruined",
            "fan|motor|pump|refrigerator|freezer|appliance|television|charger|monitor|computer|router burned|burnt|fried|exploded|popped",
        ],
        Sign::EquipmentBurnt,
        Site,
    ),
    (
        &[
            "scorch*|melt*|charred|singed|blacken*|smoked|smoking|smoke|sparks|sparked|sparking|arcing|arced|flame*|glowing|glowed",
            "caught|on|catch|small fire",
            "fire and",
            "smell*|stink*|stank|odour|odor|reek*",
            "burnt|burned|burning plastic|rubber|wire|wires|cable|plug|outlet|socket|receptacle|insulation|contact|contacts|connector|smell",
        ],
        Sign::Burnt,
        Outlet,
    ),
    (
        &[
            "shock*|tingl*|zapped|zaps|zap|jolt*|electrocut*|prickl*",
            "bites|bit me|her|him|us|you|people",
            "feel*|felt current|electricity|voltage|alternating",
            "case|chassis|cover|enclosure|cabinet|frame|tap|faucet|pipe|sink is live|energised|energized",
        ],
        Sign::Shock,
        Outlet,
    ),
    (
        &["buzz*|crackl*|sizzl*|hums|humming|hummed|hiss*"],
        Sign::Buzzing,
        Outlet,
    ),
    (
        &[
            "overheat*|warm|warmer|hotter",
            "hot to touch",
            "=hot plug|outlet|socket|receptacle|plate|cover|cord|cable|breaker|case",
            "=very|too|quite|really|gets|got|getting|runs hot",
        ],
        Sign::Warm,
        Outlet,
    ),
    (
        &[
            "plug* loose|loosely",
            "loose|loosely plug*",
            "plug*|cord* falls|fall|fell out",
            "worn outlet*|contact*|socket*|receptacle*|slot*",
            "outlet*|contact*|socket*|receptacle*|slot* worn",
        ],
        Sign::LoosePlug,
        Outlet,
    ),
    (
        &[
            "storm*|thunderstorm*|lightning|outage*|blackout*|hurricane",
            "power cut|failure|failures|cuts",
        ],
        Sign::AfterStorm,
        Site,
    ),
    (
        &[
            "newly|rewir*|renovat*|remodel*",
            "new outlet*|circuit*|wiring|panel|meter|receptacle*|socket*|fixture*",
            "outlet*|meter|panel|breaker*|receptacle*|socket*|fixture* replaced|changed|exchanged|swapped|installed|moved",
            "replaced|changed|exchanged|swapped|installed|moved outlet*|meter|panel|breaker*|receptacle*|socket*|fixture*",
            "electrician|handyman|contractor|installer|builder|builders",
            "announced|planned|temporary|electrical|building|network|after|since works|work",
        ],
        Sign::AfterWorks,
        Site,
    ),
    (
        &[
            "two-wire|2-wire|two-slot|two-prong|2-prong|ungrounded|unearthed|cheater",
            "old|older building|house|home|wiring|flat|apartment",
            "knob and tube",
            "two|three prong|wire|slot|pin adapter*|outlet*|cable",
            "plug|ground|grounding|earth adapter*",
        ],
        Sign::OldWiring,
        Site,
    ),
    (
        &[
            "=not|never grounded|earthed",
            "=no|missing|lacks|lacking|without|absent ground|earth|earthing|grounding",
            "ground*|earth* missing|absent|open|disconnected|broken|cut|removed",
            "ground|earth|grounding left out",
            "=open ground|earth",
            "ground|earth pin|prong broken|cut|missing|removed|bent",
            "cut|cuts|broke|removed|snapped ground|earth pin|prong|wire",
        ],
        Sign::EarthMissing,
        Outlet,
    ),
    (
        &[
            "neutral* cut|broken|broke|severed|disconnected|corroded|lost|interrupted|loose",
            "=neutral off its",
            "=broken|severed|disconnected|corroded|lost|loose|open neutral*",
            "neutral* burnt|burned|melted off|through|open",
        ],
        Sign::NeutralBroken,
        Site,
    ),
    (
        &[
            "wiring|line|building fault light|indicator|alarm|lamp|led|warning on|lit|lights|shows|red|reports",
            "site wiring fault",
            "reports|shows|says|indicates|alarms wiring fault",
        ],
        Sign::FaultLight,
        Outlet,
    ),
    (
        &[
            "spark*|arced|melt*|burn*|flash* cable|cables|lead|leads|connector|connectors",
            "cable|cables|lead|leads|connector|connectors spark*|arced|melt*|burn*|flash*|overheat*",
        ],
        Sign::CableSparks,
        Outlet,
    ),
    (
        &[
            "damp|wet|moist*|flood*|rain|rained|raining",
            "water in|inside|got|leak*",
        ],
        Sign::Wet,
        Outlet,
    ),
    (
        &[
            "did|does|do|would|will not work",
            "didn't|doesn't|don't|won't work",
            "outlet*|socket*|receptacle*|circuit|room|everything dead",
            "no|lost power",
            "nothing works|worked",
        ],
        Sign::Dead,
        Outlet,
    ),
    (
        &[
            "=power still on",
            "=still|everything|all works|work|working",
        ],
        Sign::Works,
        Outlet,
    ),
    (
        &["switch changes|matters|affects", "depends switch"],
        Sign::SwitchMatters,
        Outlet,
    ),
];

/// The first row that fits: a ground-fault breaker that trips is no overcurrent.
pub(super) const TRIPS: &[(&[Pattern], Sign, Level)] = &[
    (
        &[
            "afci|afdd|arc-fault|arc trip*|opens|opened|pops|popped",
            "trips|tripped|tripping afci|afdd|arc-fault",
        ],
        Sign::ArcTripped,
        Circuit,
    ),
    (
        &[
            "gfci*|gfi|rcd*|rcbo*|elcb|ground-fault|residual-current|earth-leakage trip*|opens|opened|pops|popped",
            "trips|tripped|tripping gfci*|gfi|rcd*|rcbo*|elcb|ground-fault|residual-current|earth-leakage",
        ],
        Sign::ResidualTripped,
        Circuit,
    ),
    (
        &[
            "breaker*|fuse*|mcb trip*|blew|blows|blown|pops|popped",
            "trips|tripped|tripping|blew|blows breaker*|fuse*|mcb",
        ],
        Sign::BreakerTripped,
        Circuit,
    ),
];

/// How far it reaches; the first row that fits.
pub(super) const REACHES: &[(&[Pattern], Sign, Level)] = &[
    (
        &[
            "neighbour*|neighbor*|houses|street|block|estate|village",
            "next door",
            "two|other|another transformer*",
        ],
        Sign::Scope(Reach::Street),
        Site,
    ),
    (
        &[
            "half house|building|home|outlets|lights|panel|apartment|flat",
            "every other breaker|circuit",
            "one leg|phase only|alone",
        ],
        Sign::Scope(Reach::Leg),
        Site,
    ),
    (&["one floor"], Sign::Scope(Reach::Floor), Site),
    (
        &[
            "whole|entire house|building|home|site|premises|office|shop|apartment|flat",
            "all|every over house|building|home|site|office",
            "every|all|each outlet|outlets|socket|sockets|receptacle|receptacles|room|rooms|circuit|circuits",
            "everywhere in|the house|building",
            "=different|several rooms",
            "neutral* service|drop|pole|overhead|weatherhead|transformer",
            "common to all",
        ],
        Sign::Scope(Reach::House),
        Site,
    ),
    (
        &[
            "every|all|each point|points|device|devices circuit",
            "whole|entire|same|this circuit|room",
        ],
        Sign::Scope(Reach::Circuit),
        Circuit,
    ),
    (
        &[
            "this|one|single outlet|socket|receptacle only",
            "only this|one|at outlet|socket|receptacle",
            "other outlets|sockets|receptacles fine|good|ok|normal|right|work|show",
        ],
        Sign::Scope(Reach::Outlet),
        Outlet,
    ),
];

/// Things that print a legend for the wiring they are plugged into.
pub(super) const TESTERS: &[Pattern] = &[
    "tester*|protector*|indicator*|monitor|ems|ups",
    "lamps show|shows|say",
];

/// What a tester says of wiring that it finds right.
pub(super) const PASSED: &[Pattern] = &[
    "tester*|testers pass|passes|passed|good|ok|okay|fine|normal",
    "tests|tested good|ok|okay|fine|correct tester*",
];
/// Words that put a good result into the past.
pub(super) const PAST: &[Pattern] = &["before|until|earlier|yesterday|used|previously|after"];

/// Contactless detectors.
pub(super) const DETECTORS: &[Pattern] = &["detector*|sniffer", "tick tracer", "voltage pen|stick"];

/// What a detector does.
pub(super) const SOUNDS: &[Pattern] = &[
    "sound*|beep*|chirp*|signal*|light*|lit|glow*|alarm*|react*|triggers",
    "=goes|went off",
];
/// Or does not.
pub(super) const QUIET: &[Pattern] = &[
    "quiet|silent|dark|dead|still",
    "no|not|doesn't|didn't|nothing sound*|beep*|chirp*|signal*|light*|glow*|alarm*|react*",
];

/// Slots by the shape that tells line from neutral, or by name.
pub(super) const SLOTS: &[(&[Pattern], Pin)] = &[
    (
        &["longer|long|wider|wide|larger|big|neutral slot|hole|side"],
        Pin::Neutral,
    ),
    (
        &["shorter|short|narrower|narrow|smaller|small|hot|line|live slot|hole|side"],
        Pin::Line,
    ),
    (
        &["ground|earth|round slot|hole|pin|contact|screw"],
        Pin::Earth,
    ),
];
