"""Patterns by which a phrase is put in play or out of play. How they are read: patterns.py."""

from __future__ import annotations

from annotator.rules.pieces import (
    A_FAULT,
    ADV,
    AT,
    BAD,
    CAN,
    COSTS,
    END,
    FAR,
    GAP,
    GOOD,
    HAVE,
    HOLD,
    IS,
    LEAD,
    NO_ALONE,
    NOT,
    NOT_TO,
    PP,
    PRE,
    PREP,
    REF,
    SOME,
    TOUCHING,
    USING,
    VERB,
    YES_ALONE,
    ActKind,
)

_HAND, _FOOT = r"(?:hand|arm|finger|elbow)", r"(?:foot|leg|knee|toe)"
_OR = r"(?:or|nor|and) (?:no |your )?"

RULINGS: tuple[tuple[ActKind, float, str, str], ...] = (
    # ---- out of play
    ("out", 1.0, "x is out", rf"{REF}{PP}(?: (?!not\b)[^,|. @]+){{0,2}}?{IS}{ADV} {BAD}"),
    ("out", 1.0, "x is not allowed", rf"{REF}{PP}{IS}{ADV} {NOT}{ADV} {GOOD}"),
    ("out", 1.0, "x is not for climbing", rf"{REF}{PP}{IS}{ADV} {NOT}{ADV} (?:for|there for|there to|here to) (?:{VERB}|hold"
        rf"|you)\b(?! but)"),
    ("out", 1.0, "x is a fault", rf"{AT}{PP}(?:{IS}| count as)(?: just| always| also)* {A_FAULT}"),
    ("out", 1.0, "x is none of yours", rf"{AT}{PP}{IS} none of your"),
    ("out", 1.0, "none of x is in", rf"(?:none|neither|no part|not one|not any|no bit)(?: of)?(?: of the| the)? {AT}(?:{IS}{ADV}"
        rf" {GOOD}| count| may| can)"),
    ("out", 1.0, "nor x", rf"(?:nor|neither)(?: be| can you \w+| may you \w+| do)? {AT}{END}"),
    ("out", 0.9, "no x", rf"(?:^|[,|] )(?:and |but |so |or |also |then )*no {AT}(?: at all| either| please| whatsoever| for \w[\w"
        rf" ]*)?{END}"),
    ("out", 0.9, "not x", rf"{LEAD}(?:just |oh )*not {AT}(?: itself| themselves| at all| either| please| though)*{END}"),
    ("out", 1.05, "touch x and it costs", rf"{TOUCHING} {AT}[^.@]{{0,60}}? {COSTS}"),
    ("out", 0.9, "touch it and it costs", rf"(?:touch|hit|brush|grab|use|hold|knock) (?P<r>it|them|those)[^.@]{{0,40}}? {COSTS}"),
    ("out", 1.05, "feet on x and it costs", rf"^(?:and |so )?(?:foot|hand) (?:on|in|touch) {AT}(?: \|)?(?: and| be|"
        rf" mean)[^.@,]{{0,40}}? {COSTS}"),
    ("out", 1.05, "it costs to touch x", rf"{COSTS}[^.@]{{0,40}}? {TOUCHING} {AT}"),
    ("out", 1.05, "you lose it if you touch x", rf"(?:lose|forfeit|start again)[^.@]{{0,40}}?(?:if|when) [^.@]{{0,20}}?{TOUCHING} {AT}"),
    ("out", 1.0, "x costs you", rf"{AT} (?:will )?(?:cost you|count as a (?:fall|fail|fault|foul)|end your|put you out|be (?:the "
        rf"|your )?disqualif\w*)"),
    ("out", 1.0, "under no circumstances x", rf"(?:under|on|at|in) no (?:circumstance|account|point|time|way|case)(?: \w+)*?"
        rf" {VERB}{PREP} {AT}"),
    ("out", 1.0, "not okay to use x", rf"not (?:okay|ok|fine|all right|alright|legal|good|cool) to {VERB}{PREP} {AT}"),
    ("out", 1.0, "you may not have x", rf"(?:can|may|do|will|must) not {HAVE} {AT}"),
    ("out", 1.0, "x does not belong", rf"{AT}{PP} (?:do not belong|have nothing to do with|(?:be )?nothing to do with|play no part"
        rf"|do not come into)"),
    ("out", 1.0, "x is for the crew", rf"{AT}{PP} be(?: only| just| there)? for (?:the )?(?:crew|staff|judge|marshal|camera|public"
        rf"|crowd|show|look|decoration|rigging|support|helper)"),
    ("out", 1.0, "never mind x", rf"{LEAD}(?:never mind|consider|treat|think of|count) {AT}(?: as)?(?= (?:hot|out|dead|lava|off"
        rf" limits|forbid)|[,.]|$)"),
    ("out", 1.0, "look but do not touch x", rf"look at {AT}(?: ,| \|)*(?: all you like)? but you can not"),
    ("out", 1.0, "not one finger on x", rf"not (?:one|a|a single|so much as a) (?:hand|foot|finger|toe|fingertip) (?:on|near|to) {AT}"),
    ("out", 1.0, "we do not use x", rf"(?:we|you|they|i|nobody)(?: be)? (?:not|never)(?: go to)? (?:use|play|count|want|touch|allow"
        rf"|have){PREP} {AT}"),
    ("out", 1.0, "pretend x is not there", rf"(?:pretend|imagine|act as if|assume)(?: that)? {AT} (?:be|do) not"),
    ("out", 1.0, "x was taken out", rf"(?:take|rule) {AT} out(?: of (?:play|it|this))?{END}|{AT.replace('<r>', '<r2>')}"
        r" (?:have )?be (?:take|rule|pull|leave) out"),
    ("out", 1.0, "no business on x", rf"(?:no|not any) (?:business|need to be|right|reason to be) (?:on|near|with|at|in) {AT}"),
    ("out", 1.0, "rather you left x", rf"(?:rather|prefer)(?: that)? you (?:left|leave|did not|do not|not){GAP} {AT}"),
    ("out", 1.0, "leave x", rf"{LEAD}leave {AT}(?: out(?: of it)?)?{END}"),
    ("out", 1.0, "forget x", rf"{LEAD}(?:forget|ignore|disregard)(?: all)?(?: about)? {AT}"),
    ("out", 1.0, "no grabbing x", rf"no (?:grab|hold|touch|use|step|stand|hang|lean|climb)\w*(?: hold)?(?: of| on| onto| to)* {AT}"),
    ("out", 1.0, "do not think about x", rf"(?:not|never)(?: even)? (?:think|dream|look)(?: about| of| at)* {AT}"),
    ("out", 0.9, "I do not want anybody on x", rf"not want(?: to see)? (?:you|anybody|anyone|any|a|to see|your)?(?: ?\w+){{0,2}}?"
        rf" (?:on|near|touch|use|in|at|with) {AT}"),
    ("out", 1.0, "x, no chance", rf"{LEAD}{AT}{PP}(?: ,)? {NO_ALONE}{END}"),
    ("out", 1.0, "no: x", rf"{LEAD}(?:not (?:in play|allow|allowed|in)|out(?: of (?:play|bound))?|off limits?|forbid|forbidden|ban"
        rf"|banned|"
        rf"not on|lava|illegal)(?: ,| be| :| today| for (?:you|everybody|all)| on this one)+ (?:, )?{AT}"),
    ("out", 1.0, "except x", rf"(?:except|except for|but not|(?:everything|anything|anywhere|all)(?: (?:on|of|in) @\d+)?(?: \|)? but"
        rf"|bar|apart from|other than|excluding|exclude|minus|save for|with the exception of|not count|"
        rf"though not|only not) {AT}"),
    ("out", 1.0, "x never okay", rf"{REF} (?:, like [^,|.]+ , )?(?:never|not){ADV} (?:okay|ok|allow|allowed|fine|in play|permitted)"),
    ("out", 1.0, "x may not be touched", rf"{REF}{PP}{ADV} (?:can|may|must|should|shall|be) {NOT}(?: to)? be{ADV} (?:touch|use|"
        rf"grab|hold|step)\w*"),
    ("out", 1.0, "x is not to be used", rf"{REF}{PP}{IS}{ADV} (?:not|never) to be (?:touch|use|grab|hold|step)\w*"),
    ("in", 0.9, "x is to be used", rf"{REF}{PP}(?: only)?{IS}{ADV} to be (?:touch|use|grab|hold|step)\w*"),
    ("out", 1.0, "you may not touch x", rf"{NOT_TO} (?!need|have|want){VERB}{HOLD}{PREP}(?: any of| all of| the lot of)? {REF}"),
    ("out", 1.0, "nobody touches x", rf"(?:never|nobody|no one|none of you)(?: can| may| ever| should| must| be to| get to)* "
        rf"{VERB}(?: hold)?{PREP} {REF}"),
    ("out", 1.0, "no touching x", rf"(?:no|without) (?:touch|use|grab|hold|step|hang|stand|grip|climb|swing|lean|push)\w*{PREP} {REF}"),
    ("out", 1.0, "I see a hand on x", rf"(?:i|we) see (?:a|any|your|one) (?:hand|foot|finger|toe|shoe)\w* (?:on|near|touch) {AT}"),
    ("out", 1.0, "not a finger on x", rf"(?:not|never)(?: to)? (?:lay|put|place) a \w+ on{GAP} {REF}"),
    ("out", 1.0, "keep off x", rf"(?:keep|stay)(?: your \w+| well| right| clear)* (?:off|away from|clear of|out of)(?: of)? {REF}"),
    ("out", 1.0, "leave x alone", rf"leave {REF} (?:alone|be)"),
    ("out", 1.0, "avoid x", rf"avoid {REF}"),
    ("out", 1.0, "hands off x", rf"hand off(?: of)? {REF}"),
    ("out", 1.0, "x, no", rf"{PRE}{AT}(?: ,)? (?:no|nope|know)(?! , i\b){END}"),
    ("out", 1.0, "x is not", rf"{AT}(?: on @\d+)? be {NOT}{END}"),
    ("out", 0.9, "not x", rf"[,|] (?:and |but )?not(?: on| to use| to touch)? {AT}{END}"),
    ("out", 1.0, "what you cannot touch is x", rf"what you (?:can|may|must) not (?:touch|use|grab|hold|do)(?: on)? be (?:\w+ "
        rf"hold of |{VERB}{PREP} )?{AT}"),
    ("out", 1.0, "don't want to see you on x", rf"(?:do|does|will) not (?:want|like) to see (?:you|anybody|anyone)(?: \w+)? "
        rf"(?:on|touch|use|with){GAP} {REF}"),
    ("out", 0.8, "x is an exception", rf"{AT}{PP} be (?:an|the|one|my|our) exception"),
    ("out", 1.0, "x, where it is, is out", rf"{AT} , (?:where|which|that|with) [^,.]*?(?: ,)?{IS}{ADV} (?:{NOT}{ADV} {GOOD}|{BAD})"),
    ("out", 1.0, "x does not count", rf"{AT} (?:do|will) not count"),
    ("out", 0.8, "touch x and you fail", rf"(?:if|when)(?: \|)? (?:you|anybody|anyone|somebody|they)(?: ever| even)? (?:touch|"
        rf"use|grab|step on|hit|brush|stand on|hold){PREP} {AT}"
        r"[^.]{0,50}?(?:fail|fall|disqualif\w*|be out|be over)"),
    ("out", 0.9, "touch x and it is over", rf"touch {REF}(?: ,)?(?: \|)?(?: and)? (?:you be (?:out|do|finish)|(?:your|the) \w+ "
        rf"be (?:over|do)|that be (?:a fail|it|you))"),
    ("out", 1.0, "x, no", rf"{LEAD}{AT}{PP}(?: itself| themselves)?(?: ,)?{ADV} (?:out|bad|forbidden|forbid|banned|ban|illegal|off"
        rf" limits?|"
        rf"no go|a no){END}"),
    ("in", 1.0, "x, yes", rf"{LEAD}{AT}{PP}(?: itself| themselves)?(?: ,)?{ADV} (?:in|good){END}"),
    ("out", 1.0, "x, so all of that, out", rf"^(?:and |so |now |then |but |, )*{AT} , (?!@)[^.]{{0,90}}? ,(?: all| both)? out(?= ,|$"
        rf"| \.)"),
    ("in", 1.0, "x, y, both in", rf"{AT} ,(?: then| and| ,)* @\d+ , (?:both|all)(?: of them)? (?:in|good|fine){END}"),
    ("in", 1.0, "y, both in", rf"@\d+ ,(?: then| and| ,)* {AT} , (?:both|all)(?: of them)? (?:in|good|fine){END}"),
    ("in", 0.8, "x with the hands", rf"{AT} with (?:the |your |both |two )?(?:hand|foot)(?= [,|.]|$| and| only)"),
    ("out", 1.05, "neither x nor y is in", rf"neither {AT} nor @\d+{IS}"),
    ("out", 1.1, "neither hand nor foot on x", rf"\b(?:neither|no) (?:your |one )?(?:{_HAND} {_OR}{_FOOT}|{_FOOT} {_OR}{_HAND})"
        rf"(?: (?:may|can|must|should|will))?(?: be (?:allow|permit)\w*)? (?:(?:to )?{VERB}{PREP}|on|onto|upon|against) {AT}"),
    ("out", 1.05, "nor y is in", rf"nor {AT}{IS}{ADV} {GOOD}"),
    ("out", 1.0, "ignore x", rf"{LEAD}(?:please )?(?:ignore|forget) {AT}"),
    ("out", 1.05, "no part of you may touch x", rf"no (?:part|bit|\w+) of (?:your body|you|the athlete)[^,|.]*? {VERB}{PREP} {AT}"),
    ("out", 1.0, "x you cannot", rf"{AT}{PP}(?: ,)? you (?:can|may|must|will) not{END}"),
    ("out", 1.0, "x you cannot touch", rf"{AT}{PP}(?: ,)? you (?:can|may|must|should|do|will) not (?:even |ever )?{VERB}(?!{PREP} (?:it"
        rf"|those|them|these|that)\b)"),
    ("out", 1.0, "what is not in play is x", rf"what be (?:not|never) (?:in play|in|allow|allowed) be {AT}|what be {BAD} be "
        rf"{AT.replace('<r>', '<r2>')}"),
    ("out", 0.9, "touching x is a fail", rf"(?:touch|contact with|touch of|stand on|step on) {AT} (?:be a (?:fail|fall)|mean)"),
    ("out", 1.0, "y is out and so is x", rf"be{ADV} {BAD}[^.@]*? so be {AT}"),
    ("in", 1.0, "y is in and so is x", rf"be{ADV} {GOOD}[^.@]*? so be {AT}"),
    ("include", 1.0, "so is x", rf"^(?:and |but )?so be {AT}"),
    ("include", 1.0, "that includes x", rf"(?:that|and that|this) (?:be|include)(?: also)? {AT} include|(?:that|this) include "
        rf"{AT.replace('<r>', '<r2>')}"),
    ("out", 1.0, "what you do not do is touch x", rf"what (?:you|nobody|no one|athlete|people|they|i|we)[^,|.@]{{0,40}}? (?:not"
        rf"|never)[^,|.@]{{0,40}}?"
        rf" be (?:\w+ ){{0,4}}?(?:touch|use|grab|hold|see|stand|step|anyone|anybody|you|climb|hang|lean)[^,|.@]{{0,20}}? {AT}"),
    ("out", 0.9, "you may not do anything with x", rf"{NOT_TO} (?!need|have|want){USING}{HOLD}{PREP}(?: any of| all of| the lot of)? {AT}"),
    ("out", 1.0, "x may not", rf"{AT}{PP} (?:can|may|must|should|be|do|have|will) {NOT}{END}"),
    ("out", 1.0, "hands away from x", rf"(?:hand|foot|finger|mitt|paw)(?: stay| stays| well| right| keep| must| be)* (?:away|clear"
        rf"|out)(?: from| of) {AT}"),
    ("out", 1.0, "x, to which so and so, may not be touched", rf"{AT} (?:to|on|in|from|at|with|by)? ?(?:which|that|whom) [^,."
        rf"|]{{1,40}}? (?:can|may|must|shall|should)"
        rf" not be [a-z]+"),
    ("out", 1.0, "x you leave", rf"{AT}{PP}(?: ,)? you (?:just |can |should |must |will )*(?:leave|avoid|ignore|forget|steer clear of"
        rf"|(?:keep|stay)(?: off| away| clear)(?: from| of)?)"
        rf"(?: alone| be| well alone| out)?{END}"),
    ("out", 1.0, "grabbing x is forbidden", rf"(?:touch|grab|hold|use|step on|stand on|lean on|climb|contact with|grip|hang from|swing"
        rf" on|push off|pull on)"
        rf"(?: hold of| onto| on to| on| from)? {AT}(?: ,[^,.@]{{0,20}} ,)?{IS}{ADV} (?:{BAD}|{NOT}{ADV} {GOOD}|{A_FAULT})"),
    ("out", 1.05, "it costs to use one", rf"{COSTS}[^.@]{{0,40}}? {TOUCHING} (?P<r>one|it|them|those|any)(?= |$)"),
    ("out", 0.9, "x, those are for somebody else", rf"{AT}{PP}{IS}{ADV} (?:only )?(?:for|belong to) (?:the |our |another |somebody "
        rf"|someone )*"
        rf"(?:other (?:course|session|group|class)|club|school|council|owner|venue|scout|farmer|decor|balance|safety|strength|stability)"),
    ("out", 0.9, "x belongs to somebody", rf"{AT}{PP} belong to"),
    # ---- in play
    ("in", 0.85, "you may do something with x", rf"{CAN}(?: also| just| still| always| all| even| only| both| happily| safely)* "
        rf"{USING}{HOLD}{PREP}{SOME} {AT}"),
    ("in", 1.0, "x is what you hang from", rf"{AT}{PP}(?: itself| themselves)?{IS}{ADV} (?:\w+ )?(?:what|where|how) you(?: be)?(?: go"
        rf" to)? {VERB}"),
    ("in", 0.9, "on x I want to see feet", rf"{LEAD}(?:on|in|along|over|across) {AT}(?: ,)?"
        rf" (?:you|i|we|it|there|only|just|use|keep) (?:(?!not|never|no\b)[a-z]+ ){{0,6}}?(?:hand|foot)(?= [,.|]|$| only)"),
    ("in", 0.9, "x under your feet", rf"{AT}{PP} (?:under|beneath|below) (?:your |the |both |one )*foot(?= |$)"),
    ("in", 0.9, "x for your hands", rf"{AT}{PP} (?:for|in) (?:your |the |both |one )+(?:hand|foot)(?= |$)"),
    ("in", 0.9, "x is what is there for you", rf"{AT}{PP}{IS}{ADV} (?:there |here )?(?:for you|to help|to be used|to aid|for (?:balance"
        rf"|support|grip|help))"),
    ("in", 1.0, "x is in", rf"{REF}{PP}{ADV}{IS}{ADV} {GOOD}"),
    ("in", 1.0, "x counts", rf"{AT}{PP} (?:do )?(?:count|be count|will do)(?= [,.|]|$| too| as well| here| as (?:in|good))"),
    ("in", 0.9, "x is, the other is not", rf"(?:but|though|while|whereas|only) {AT} (?:be|do|can){END}"),
    ("in", 1.0, "you are good on x", rf"you be (?:all )?(?:good|fine|okay|ok|safe|welcome|more than welcome|allow)(?: to go)? (?:on"
        rf"|with|to|to use) {AT}"),
    ("in", 1.0, "no problem with x", rf"no (?:problem|issue|worries|objection|trouble|harm|bother)(?: at all)? (?:with|in|about"
        rf"|using) (?:you )?(?:{VERB}{PREP} )?{AT}"),
    ("in", 1.0, "help yourself to x", rf"(?:help|knock|treat|suit) yourself(?: out)?(?: to| on| with)+ {AT}"),
    ("in", 1.0, "be my guest with x", rf"(?:my guest|go for it|go ahead|feel free|go wild|go nuts|by all mean)(?: and)?(?:"
        rf" {VERB})?{PREP} {AT}"),
    ("in", 0.9, "whatever you like on x", rf"(?:whatever|however|wherever|anything|any way|anywhere)(?: else)? (?:you (?:like|want"
        rf"|fancy|please)|go) (?:on|with|of|at) {AT}"),
    ("in", 0.8, "x is on", rf"{AT} be on(?= [,.|]|$)"),
    ("in", 1.0, "you are allowed x", rf"you be (?:allow|allowed|permit|permitted|give) {AT}"),
    ("in", 1.0, "x is something you can use", rf"{AT}{PP} be (?:something|a thing|one thing|one) (?:that )?(?:you|we) (?:can|may) (?!not)"),
    ("in", 0.9, "I want you on x", rf"(?:i|we) (?:do )?(?:want|like|expect) you (?:all )?(?:on|to use|to be on|to be use|use) {AT}"),
    ("in", 1.0, "we allow x", rf"(?:i|we)(?: will| be| do)?(?: also| still)? (?:allow|permit|accept|give you|let you (?:use|have"
        rf"|touch)|count) {AT}"),
    ("in", 1.0, "I do not mind x", rf"(?:i|we|nobody|no one) (?:do not |will not |would not )?(?:mind|care|bother about|object to"
        rf"|happy with|be happy with)"
        rf"(?: you| if you| about you)?(?: {VERB})?{PREP} {AT}"),
    ("in", 1.0, "you may have x", rf"{CAN}(?: also| both| all| always)* {HAVE} {AT}"),
    ("in", 0.9, "you have x to play with", rf"you (?:have|get)(?: have)? {AT} (?:to (?:play|work|use)|as well)"),
    ("in", 1.0, "x, go for it", rf"{LEAD}{AT}{PP} , {YES_ALONE}{END}"),
    ("in", 1.0, "yes: x", rf"{LEAD}(?:in play|allow|allowed|in|fair game|permitted|legal)(?: ,| be| :| today)+ (?:, )?{AT}"),
    ("in", 0.9, "nothing but x", rf"(?:nothing|none|only|anything) (?:\| )?but (?!not){AT}{END}"),
    ("in", 1.0, "not only x but y", rf"not (?:only|just) {AT}(?: \|| ,)* but(?: also)? @\d+ be {GOOD}"),
    ("in", 1.0, "x as well as y", rf"{CAN}[^,.|]* @\d+ (?:as well as|along with|together with|plus|and also) {AT}"),
    ("include", 0.95, "same for x", rf"(?:^|[,|.] )(?:and |but |it be |that be |the |exactly |much )*(?:same|ditto|likewise|that go"
        rf"|this go|so do|so be|so go)"
        rf"(?: go| apply| hold| story| thing| rule| deal| again| be true| here| also)*(?: for| with| to| on| of)? {AT}"),
    ("include", 0.95, "x likewise", rf"(?:^|[,|.] |and ){AT}(?: ,)? (?:likewise|ditto|same|the same|too|as well|also|same again"
        rf"|similarly){END}"),
    ("in", 0.7, "x's in, heard as end", rf"{REF} (?:end|inn|and)(?= [,.]|$)"),
    ("in", 0.8, "x's in, heard as end", rf"{AT} in(?= [,.]|$)"),
    ("in", 1.0, "you may use x", rf"{CAN}(?: also| just| still| always| all| even| only| both| happily| safely)* "
        rf"{VERB}{HOLD}{PREP}{SOME}{FAR} {REF}"),
    ("in", 0.9, "you may x use", rf"(?:you|one|hand|foot|everybody|@\d+) (?:may|can)(?: also)? {AT} (?:{VERB}|hold)(?= [,.]|$)"),
    ("in", 0.9, "x may you touch", rf"{AT}{PP} (?:may|can)(?: also)? (?:you|one|everybody)(?: also| always)? (?!not|"
        rf"never)(?:with [^,|.@]+ )?{VERB}"),
    ("out", 1.0, "x may you not touch", rf"{AT}{PP} (?:may|can) (?:you|one|nobody|@\d+|it) (?:it )?(?:not|never|nowhere)"),
    ("in", 0.8, "on x may you", rf"(?:on|against|over) {AT} (?:may|can) (?:you|one)(?! not)"),
    ("in", 0.9, "x you may touch", rf"{LEAD}{AT}{PP}(?: ,)? you (?:can|may)(?: also)? (?!not|never){VERB}(?!{PREP} (?:it|those|them"
        rf"|these|that|both)\b)"),
    ("in", 1.0, "x may be used", rf"{REF}{PP}{ADV} (?:can|may|might)(?: also| all| both)* be{ADV} (?:touch|use|grab|hold|step|grip"
        rf"|contact|walk|lean|employ|utilise|tread|hug|kick|push|pull|"
        rf"climb|stand)\w*"),
    ("in", 1.0, "need not but may", rf"do not (?:have|need) to {VERB}{PREP} {AT}(?: ,)?(?: \|)? but you (?:can|may)"),
    ("in", 1.0, "x, yes", rf"{PRE}{AT}(?: ,)? (?:yes|yeah|yep|okay|fine){END}"),
    ("in", 1.0, "any part of you can touch x", rf"(?:any part|any bit) of you can touch {REF}"),
    ("in", 0.9, "x only", rf"{PRE}{AT} only{END}"),
    ("in", 0.9, "only x", rf"(?:[,|] |^)(?:but |so |and )?(?:it be )?(?:only|just)(?: on)? {AT}"),
    ("in", 0.8, "hands on x", rf"(?:hand|foot|boot|toe|finger|just|only)(?: and| or| ,)?(?: \w+)? (?:on|against|for) {AT}|^(?:foot"
        rf"|boot|toe) (?:in|into) {AT.replace('<r>', '<r2>')}"),
    ("in", 0.8, "hands and feet, anywhere on x", rf"(?:hand and foot|foot and hand)(?: ,)?(?: both| either)?(?: ,)?"
        rf"(?: anywhere| wherever| anyhow| however)?(?: you (?:like|want))? on {AT}"),
    ("in", 0.9, "feet go on x", rf"(?:hand|foot)(?: can| may| must| shall| should| will| always| just| only)* (?:go|stay|rest|belong|be"
        rf"|remain|keep)(?: (?!not|off)[a-z]+)? "
        rf"(?:on|onto|against) {AT}"),
    ("in", 0.9, "on x goes only the foot", rf"(?:on|against|over|in) {AT} (?:go|come|belong|stand)(?: only| just)* (?:the |your"
        rf" )?(?:hand|foot)"),
    ("in", 1.0, "x is for the hands", rf"{AT} (?:be )?for (?:the |your )?(?:hand|foot)(?= [,|.]|$| and| only)"),
    ("in", 0.8, "x, hands only", rf"{LEAD}{AT}(?: ,| be| , it be| :)? (?:hand|foot)(?: (?:and|or) (?:hand|foot))?(?: only|"
        rf" please)?{END}"),
    ("there", 0.5, "two beams, a beam", rf"^(?:and |so |then |, )*@\d+ , {AT}(?= ,| and| or)"),
    ("there", 0.5, "a beam, a beam", rf"^(?:and |so |then |, )*@\d+ , @\d+(?: ,)?(?: and| or)? {AT}(?= ,|$| \.)"),
    ("in", 0.9, "x allowed", rf"(?:[,|] |^){AT}(?: be)? (?:allowed|permitted|in play|fair game|okay)"),
)  # fmt: skip
