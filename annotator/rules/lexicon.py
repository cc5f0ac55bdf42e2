"""The words that the reading leans on: limbs, colours, parts, things that are never a surface, age classes, numbers.

Everyday English of the trade, no name of any course. Common practice, no published source. All entries are lower-case lemmas.
"""

from __future__ import annotations


def words(text: str) -> frozenset[str]:
    """The words of a text as a set, so that lists of words stay readable.

    >>> sorted(words("bar beam"))
    ['bar', 'beam']
    """
    return frozenset(text.split())


def _row(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_NUMBERS = _row(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty"
)
_ORDINALS = _row("first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth")
NUMBER = {word: value for value, word in enumerate(_NUMBERS)} | {str(value): value for value in range(100)}
ORDINAL = {word: value for value, word in enumerate(_ORDINALS, 1)} | {"final": -1, "last": -1}
NUMBER_WORD = dict(enumerate(_NUMBERS))

COLOURS = words(
    """
    red orange yellow green blue purple violet pink brown black white grey gray teal turquoise silver gold golden beige cream navy
    lime wood wooden
    """
)
HANDS = words("hand finger fingertip palm arm fist")
FEET = words("foot feet leg shoe toe heel boot trainer ankle sole sneaker")
BODY = (
    HANDS
    | FEET
    | words(
        """
    knee elbow body belly head bum back shoulder chest limb weight skin breath grip side-on hip
    """
    )
)

PARTS = words(
    """
    part head
    top side edge front underside rim cap face tip base hardware lip corner surface underneath inside outside end bottom back middle
    bolt tread crossbar rung handle section half lid crown
    """
)
"""Heads that, said of another thing ("the top of the wall"), are a part of it."""
PLACE_PARTS = words(
    """
    head top side edge front underside rim cap face tip base lip corner surface underneath inside outside end bottom back middle section
    half centre center lid crown
    """
)
"""Parts that are never a thing of their own."""
QUANTITIES = words(
    """
    stack pile set pair row bit piece lot couple number kind sort bunch line stretch all each any both one two three some none most
    rest load bundle series few
    """
)
"""Heads before "of" that are no part: in "a row of bars" the thing is the bars, in "a stack of tyres" the whole phrase."""
HEAPS = words("stack pile row set line bundle")

NOT_A_SURFACE = words(
    """
    play bounds bound law win wins furthest tie welcome cup league games limit limits yours mine contact land stuff
    fives sixes sevens eights nines tens elevens twelves twelve ten eight seven thirteens fourteens fifteens sixteens
    way time thing side end order minute second hour day week year morning afternoon evening night today tomorrow yesterday moment
    bit lot course station obstacle walk event competition round run try go attempt chance retry do-over doover turn rule question
    answer word name number people person everybody everyone anybody somebody nobody guy kid child mum mom dad parent family athlete
    runner competitor judge helper volunteer lady gentleman man woman boy girl friend brother sister granny husband wife daughter
    son brother-in-law pupil fail fall clear start finish begin signal beep whistle clock speed time point problem trouble shame fun
    luck life sense idea matter reason case fact help view noise clunk sound light water coffee towel chalk sun rain weather country
    english language sheet paper list phone video camera bathroom toilet car park barn puddle heron leg seal toddler
    hug use distance far left right middle hand foot one ones other others same everything anything something nothing none
    whole half much many part game sport title head last first next rest total demo demonstration show example picture place spot
    position area direction row line-up inch metre meter foot-long centimetre size shape colour color kind sort type bunch penalty
    overshoot skip jump swing step-off move movement push pull drop landing rhythm balance choice favourite favorite drum-roll hello
    hi okay ok sir madam thanks thank love buddy honey dude mate guys folk group team crowd lunch break injury safety hardware-store
    grown-ups grown-up ups rangoli decoration cub scout beaver brownie explorer tummy elbow heel gate-keeper principal carpenter piece
    stop thumb colleague exception exceptions supplement detail drawing paint colour-code reverse manner habit secret warning reminder
    promise gift story
    aeroplane koala porch tangent fella marshal forties loop-the-loop reach lie halves blade handwriting momentum sum envelope retries
    blow blows teacher
    company power training practice warm-up gear sweat dog plan change opening room space air sky building job work brain member
    section stage level age class division category junior senior adult grown-up teen ten under-ten over power strength speed care
    hall gym gymnasium venue arena
    beginning ending meaning timing scoring briefing touching climbing running jumping swinging skipping overshooting
    touch trap decoy crew staff disposal card count
    foul fault no no-no lava scenery decoration business menu guest goal target circumstance account good worry need disqualification
    four fours all-fours master bairn tot tiny toddler little littlun ditto likewise former latter nobody sixty seventy fifty fourteen
    option permission objection exemption rest breather ok mercy credit mark
    standing attention courage technique style sleep bell-ringing ear eye mouth nose face voice mind heart mistake pardon
    """
)
"""Nouns that an athlete does not touch, or that stand for something else."""

APPARATUS = words(
    """
    platform deck box block mat pad beam bar ring rung rope net wall peg step stair ladder board plank bench table crate pallet
    ledge pole post pillar column bridge tyre tire wheel barrel drum spool log stump stone rock brick cube hoop swing strap
    line cable chain frame rail handrail handle knob hold grip knot ball buoy bag sack panel door window bucket tube pipe tunnel
    slide ramp slope bell button buzzer gong horn flag gate cradle mattress carpet cushion foam wedge pedestal podium perch island
    pontoon raft tile plate disc disk mushroom trampoline hurdle vault horse curtain sheet-net web cargo-net truss scaffold upright
    strut bracket bolt hinge screw floor ground pit pool tank wire slackline zipline trolley tab noodle spring tower roof cloth
    hatch lattice grid mesh crossbar trapeze bale hay-bale stool chair bollard cone kerb curb sandbag batten cleat dowel slat
    spindle rod shelf lintel sill tread crash-mat
    grass mud sand gravel turf tarmac concrete dirt sawdust water hook cowbell slab tray cord carabiner pendulum lever paddle dome
    plinth gutter trough basket tarp hose springboard kicker bowl dish roller upright deckchair catwalk walkway gangway sleeper boulder
    raft tin-roof bunker surfboard rug mound stump cord rack hoist
    square circle oval turf hay lawn doormat trunk branch hedge wagon crossbeam footbridge lattice culvert shed
    pulley anchor strut girder railing balustrade fence stand clamp bracket balcony tabletop hammock pouch chute funnel tarpaulin
    """
)
"""Nouns that are usually equipment: they need less evidence than a noun we have never seen."""
THINGS = words(
    """
    seat bin pot bed string beanbag wheelbarrow desk bamboo mirror tailgate float tub trestle cart lamp straw trailer fender banister cage
    drawer mast barrow oar boat twine sawhorse truck pew canoe doorstep sofa stepladder pillow grating bumper saddle netting cooler
    locker ribbon basin hat bonnet toolbox shovel bottle winch footstool matting axle piano valve shutter stretcher churn shackle dinghy
    gunwale coupling canvas grate cabinet radiator drainpipe throne drawbar jerrycan kickboard duckboard buffer esky kneeler sink hanger
    plywood workbench threshold sponge lectern bleacher hamper sled broom couch weighbridge lashing padlock tambourine tailboard coping
    gangplank armchair pouffe barre hawser sandbox gatepost creel footboard stove keg umbrella groundsheet mudguard rafter sandpit sledge
    boom horseshoe scoreboard cylinder bunk bicycle lantern futon hassock pirogue kerbstone wiper booth flagpole joist chimney canopy
    reel heater toboggan tiller clothesline sheepskin gavel halyard dory mailbox anvil windscreen stirrup flagstone castor baluster thwart
    urn fleece davit rudder kayak trampette blackboard gantry bungee bunting milestone rostrum rivet wardrobe sideboard wheelchair
    boathook flowerpot freezer stringer millstone tripod hydrant standpipe raffia mango cedar letterbox plough keel fountain bathtub fridge
    bookcase sailcloth hearth housing windowsill coaming nozzle strake velvet wiring vestibule weighbridge porthole guttering lagging
    """
)
"""Nouns that three speakers or more had as a thing of a station: they are one also where no article stands before them."""
PLATFORMS = words(
    """
    platform deck box block mat bench table crate pallet ledge mattress carpet pedestal podium island pontoon tile plate pad
    step stone board bale stool floor perch raft pit tire tyre box carpet landing slab tray plinth deck stage rock
    """
)
"""Things one stands on at a start or a finish."""
SIGNALS = words(
    """
    bell button buzzer gong horn siren drum pad-button flag switch plate-button cowbell handbell triangle
    """
)
"""Things that are struck to stop the clock."""

FILLERS = words("um uh er erm eh ah hmm mm uhm")

CONTACT_VERBS = words(
    """
    bounce dive vault duck wriggle scramble spring squeeze straddle
    use touch grab hold grip grasp catch take climb step stand hang pull push hook walk run crawl cross traverse swing jump hop leap
    reach pinch press hit strike smack slap ring kick tap mount straddle wrap clamp hug lean sit lie kneel land balance ride slide
    shuffle scale clamber haul squeeze work move visit put rest place brace go get make
    """
)

SIZES = words(
    "big small little tall short long low high wide narrow thin thick fat round square large wee tiny left right upper lower "
    "top bottom middle first second"
)
