"""What verbs, modality and negation make of a phrase: the table of patterns over skeletons.

A skeleton is a sentence of lemmas in which phrases stand as `@0`, `@1`, ...; `(?P<r>...)` is the phrase (or pronoun) that the act is about.
Gaps never cross a comma or a clause border. No pattern knows what a course calls its things. Order does not matter: of two patterns for one
phrase the heavier counts.
"""

from __future__ import annotations

import re
from typing import Literal

from annotator.rules.pieces import (
    A_FAULT,
    ADV,
    AT,
    BAD,
    BEGIN,
    CAN,
    COSTS,
    END,
    FAR,
    GAP,
    GOOD,
    HAVE,
    HOLD,
    IS,
    LAND,
    LEAD,
    NO_ALONE,
    NOT,
    NOT_TO,
    PP,
    PRE,
    PREP,
    REF,
    SOME,
    STRIKE,
    THEN,
    TOUCHING,
    VERB,
    YES_ALONE,
)

ActKind = Literal[
    "in", "out", "use", "there", "start", "finish", "arrive", "next-start", "either", "later", "past", "include"
]  # fmt: skip


_ROWS: tuple[tuple[ActKind, float, str, str], ...] = (
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
    ("out", 1.05, "nor y is in", rf"nor {AT}{IS}{ADV} {GOOD}"),
    ("out", 1.0, "ignore x", rf"{LEAD}(?:please )?(?:ignore|forget) {AT}"),
    ("out", 1.05, "no part of you may touch x", rf"no (?:part|bit|\w+) of (?:your body|you|the athlete)[^,|.]*? {VERB}{PREP} {AT}"),
    ("out", 1.0, "x you cannot", rf"{AT}{PP} you (?:can|may|must|will) not{END}"),
    ("out", 1.0, "x you cannot touch", rf"{AT}{PP} you (?:can|may|must|should|do|will) not (?:even |ever )?{VERB}"),
    ("out", 1.0, "what is not in play is x", rf"what be (?:not|never) (?:in play|in|allow|allowed) be {AT}|what be {BAD} be "
        rf"{AT.replace('<r>', '<r2>')}"),
    ("out", 0.9, "touching x is a fail", rf"(?:touch|contact with|touch of|stand on|step on) {AT} (?:be a (?:fail|fall)|mean)"),
    ("out", 1.0, "y is out and so is x", rf"be{ADV} {BAD}[^.@]*? so be {AT}"),
    ("in", 1.0, "y is in and so is x", rf"be{ADV} {GOOD}[^.@]*? so be {AT}"),
    ("include", 1.0, "so is x", rf"^(?:and |but )?so be {AT}"),
    ("include", 1.0, "that includes x", rf"(?:that|and that|this) (?:be|include)(?: also)? {AT} include|(?:that|this) include "
        rf"{AT.replace('<r>', '<r2>')}"),
    # ---- in play
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
    ("in", 0.9, "x you may touch", rf"{LEAD}{AT}{PP} you (?:can|may)(?: also)? (?!not|never){VERB}"),
    ("in", 1.0, "x may be used", rf"{REF}{PP}{ADV} (?:can|may|might)(?: also| all| both)* be{ADV} (?:touch|use|grab|hold|step|"
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
    ("in", 0.9, "feet go on x", rf"(?:hand|foot)(?: can| may| must| always| just| only)* (?:go|stay|rest|belong)(?: (?!not|off)[a-z]+)? "
        rf"(?:on|onto|against) {AT}"),
    ("in", 0.9, "on x goes only the foot", rf"(?:on|against|over|in) {AT} (?:go|come|belong|stand)(?: only| just)* (?:the |your"
        rf" )?(?:hand|foot)"),
    ("in", 1.0, "x is for the hands", rf"{AT} (?:be )?for (?:the |your )?(?:hand|foot)(?= [,|.]|$| and| only)"),
    ("in", 0.8, "x, hands only", rf"{LEAD}{AT}(?: ,| be| , it be| :)? (?:hand|foot)(?: (?:and|or) (?:hand|foot))?(?: only|"
        rf" please)?{END}"),
    ("there", 0.5, "two beams, a beam", rf"^(?:and |so |then |, )*@\d+ , {AT}(?= ,| and| or)"),
    ("there", 0.5, "a beam, a beam", rf"^(?:and |so |then |, )*@\d+ , @\d+(?: ,)?(?: and| or)? {AT}(?= ,|$| \.)"),
    ("in", 0.9, "x allowed", rf"(?:[,|] |^){AT}(?: be)? (?:allowed|permitted|in play|fair game|okay)"),
    # ---- start
    ("start", 1.0, "start on x", rf"{BEGIN}(?: \w+){{0,4}}? (?:on|from|at|by|in|off|with|behind) {AT}"),
    ("start", 1.05, "start at a on x", rf"{BEGIN}(?: \w+){{0,3}}? (?:on|from|at|by|in) @\d+ (?:on|at|by|in|of) {AT}"),
    ("start", 1.0, "start is x", rf"{BEGIN} (?:be |on |here |there |position |point |platform |line |block |spot |place |, )*{AT}"),
    ("start", 0.9, "still on x", rf"you be (?:still|already) (?:stand |stood )?(?:on|at|in) {AT}"),
    ("start", 0.85, "picking up from x", rf"(?:^|[,|] )(?:and |so |then |now |okay |here we go )*(?:pick up|pick it up|go on|carry"
        rf" on|straight|here we go|push off|away)(?: again)? (?:from|off) {AT}"),
    ("start", 0.8, "you push off from x", rf"you push (?:yourself )?(?:off|away) (?:from )?{AT}"),
    ("start", 1.0, "wait on x for the signal", rf"(?:wait|stand|be|ready|sit)(?: \w+)? (?:on|at|behind|in) {AT} (?:for|until"
        rf"|till)(?: \w+){{0,3}}? "
        r"(?:whistle|horn|signal|go|beep|start|gun|bell|countdown|shout|call)"),
    ("start", 1.0, "stand on x, and off you go", rf"(?:stand|sit|wait|be|get up|hop up|climb up|crouch|kneel|up) (?:\w+"
        rf" ){{0,2}}?(?:on|at|behind|in|onto) {AT}"
        r"[^.]{0,40}? (?:(?:off|away) you go|wait (?:there )?(?:for|until|till)|wait on the|ready for)"),
    ("start", 0.75, "out of x", rf"(?:(?:climb|get|step|jump|come|hop|crawl|roll|slide|clamber|scramble) (?:yourself )?"
        rf"|{LEAD})(?:out of|out|down off|up off|up from|down from) {AT}"),
    ("start", 1.0, "leave from x", rf"(?:leave|depart|launch|go off|set out) (?:from|off) {AT}"),
    ("start", 1.0, "on x, that is how you begin", rf"(?:on|at|behind|from|in) {AT} , (?:and )?(?:that|this) be (?:how|where) (?:you"
        rf"|we|it|everybody) (?:begin|start|set off|go)"),
    ("start", 1.0, "on x we begin", rf"(?:on|at|behind|from|in) {AT} (?:be where )?(?:you|we|it|one|everybody|do you|do one)(?:"
        rf" all)? (?:begin|start|set off|depart)"),
    ("start", 1.0, "x to start", rf"(?:^|[,|] ){AT} (?:to|for the|for your) (?:start|begin)(?: with)?{END}"),
    ("start", 1.0, "you find your start on x", rf"(?:your|the) (?:start|go|turn|run|attempt)(?: be| begin| start)? (?:on|at|behind"
        rf"|from) {AT}"),
    ("start", 1.05, "start at a, stand on x", rf"{BEGIN}[^|.]* , (?:so )?stand on {AT}"),
    ("start", 1.0, "start position, x", rf"(?:start|starting) (?:position|point|place|spot)(?: ,| be)* (?:on |at |behind )?{AT}"),
    ("start", 1.0, "stand on x to begin", rf"(?:on|at|behind) {AT} to (?:begin|start)"),
    ("start", 1.0, "x is your start", rf"{AT} be{ADV} (?:the|your|a|our) start(?! of| for)"),
    ("start", 1.0, "x is the beginning", rf"{AT} be{ADV} (?:the|your|our) (?:begin|beginning|starting point|start point)"),
    ("start", 0.9, "on x stands one", rf"(?:on|at) {AT} (?:stand|wait) (?:you|one)"),
    ("start", 1.0, "x, where it starts", rf"{AT}(?: ,)?(?: \|)?(?: and)? that be where (?:@\d+|the [a-z ]+?) (?:start|begin)"),
    ("start", 1.0, "x, that's your start", rf"{AT}(?: ,)? that be (?:the|your) start"),
    ("start", 1.0, "x is where you start", rf"{AT} be where (?:you|we|they|it|this one)(?: all)? (?:start|begin|take off|set off|go)"),
    ("start", 1.0, "by x, because that is where it begins", rf"by {AT} , because that be where number \w+ (?:begin|start)"),
    ("start", 0.8, "from x", rf"{LEAD}(?:from|off) {AT}"),
    ("start", 0.8, "you go off x", rf"you (?:be|go|come|set|leave|jump|step|swing|push)(?: straight| right| back| again| now)* "
        rf"(?:off|from|away from) {AT}"),
    ("start", 1.0, "off you go from x", rf"(?:off|away) you go from {AT}"),
    ("start", 0.8, "x to y", rf"^(?:and |so |then |okay |, )*{AT} to @\d+"),
    ("start", 0.7, "you leave x", rf"you(?: be to)? leave(?: from)? {AT}"),
    ("start", 0.7, "jump off x", rf"{LEAD}(?:jump|step|swing|leap|push|hop|climb|walk) (?:off|from) {AT}"),
    ("start", 0.7, "you are on x", rf"you (?:will be|will be stand|will stand|be|be stand|stand|wait|get|be go to be)(?: up|"
        rf" here| now| again| back| ready)* "
        rf"(?:on|at|in) {AT}"),
    ("start", 0.7, "stand on x", rf"{LEAD}stand (?:up )?on {AT}"),
    ("start", 0.4, "feet on x", rf"(?:^(?:foot|hand)|{PRE}both foot|{PRE}two foot) on {AT}{END}"),
    # ---- finish
    ("finish", 1.0, "finish on x", r"(?:finish|end up|end|you end|done|conclude)(?: up| off| down| by stand| here| there| right| "
        r"it| stand| by standing|"
        rf" standing| when you be| when you have two foot)* (?:on|at|in|with|onto) {AT}"),
    ("finish", 1.0, "the finish is x", rf"finish(?: be| ,| platform| position| here| point| spot| line)* {AT}"),
    ("finish", 1.0, "the finish is there, x", rf"finish be (?:over |right |up |down |just )*(?:there|here) , {AT}"),
    ("finish", 1.0, "on x you finish", rf"(?:on|at|in) {AT} (?:be where )?(?:you|it) (?:all )?(?:finish|end|be do)"),
    ("finish", 0.9, "the end is x", rf"(?:the |your )?(?:end|finish)(?: of it| of this one| of that| point)? (?:would have |"
        rf"will |should )?be (?:the \w+ )?{AT}"),
    ("finish", 1.0, "x is your finish", rf"{REF}(?: , \w+(?= ,))?(?: ,)?(?: and)?(?: that| which)? be{ADV} (?:where (?:you|it|this"
        rf"|we)(?: all)? "
        rf"(?:finish|end)|(?:the|your|a|our) (?:finish|end(?= [,.])))"),
    ("finish", 1.0, "on x it is finished", rf"(?:on|at|with|by|in) {AT} be (?:it|this|this one|this obstacle|"
        rf"the obstacle)(?: \w+)? (?:finish|do|over|end|ready)"),
    ("finish", 1.0, "x, that's you done", rf"{AT}{PP} ,(?: and)? (?:that be you|you be)(?: all)? (?:do|finish|there|home)"),
    ("finish", 1.0, "x there, that's your finish", rf"{AT}{PP} ,(?: and)? that be (?:the|your|our) (?:finish|end)(?= [,.]|$| of)"),
    ("finish", 1.0, "onto x, and there you are", rf"(?:to|onto|on|at) {AT}(?: ,)?(?: \|)?(?: and)? there you (?:be|have|go)"),
    ("finish", 1.0, "to x, and that's the end", rf"(?:to|onto|on|at) {AT}(?: ,)?(?: \|)?(?: and)? that be the end"),
    ("finish", 1.0, "x to finish", rf"{AT} to finish"),
    ("finish", 0.8, "x at the finish", rf"{AT} at the (?:finish|end){END}"),
    ("finish", 1.0, "finished when you are on x", rf"finish (?:when|once|\| when|as soon as) you(?: \w+){{0,4}}? (?:on|at|reach|"
        rf"touch) {AT}"),
    ("finish", 0.9, "when you reach x", r"(?:when|once|soon as) you (?:reach|get to|be on|touch|be stand on|hit|make it to|"
        r"arrive at|arrive on|have \w+ foot on)"
        rf"(?: the)? {AT}(?: ,)?(?: and)? (?:you be|you have|that be|it be)(?: all)? (?:do|make|finish|home|there|through|safe|over|it)"),
    ("finish", 1.0, "complete when on x", rf"(?:complete|finish|do|end|over|clear)(?: it| \|)* (?:when|once|as soon as)(?: [^,|. "
        rf"]+){{0,5}}? {AT}"),
    ("finish", 1.0, "once on x it is cleared", rf"(?:when|once|soon as)(?: [^,|. ]+){{1,6}}? {AT}(?: ,)? (?:you have|you be|it "
        rf"be|that be)(?: \w+)? (?:clear|do|finish|make|complete|home|safe|through)"),
    ("finish", 1.0, "done at x", rf"(?:^|you be |[,|] )(?:all )?(?:do|finish|through|complete) (?:at|on|with|when you reach) {AT}"),
    ("finish", 1.0, "job done on x", rf"(?:job|all|it be) (?:do|finish|over) (?:on|at|when you (?:reach|be on|get to)) {AT}"),
    ("finish", 1.0, "x marks the end", rf"{AT} (?:mark|be) (?:the (?:end|finish)|where you (?:want to |need to |have to |be to"
        rf" )?(?:end up|finish|end|get to))"),
    ("finish", 1.0, "you have made it on x", rf"(?:make it|have pass|have clear it|be there|have do it) (?:when|once|\| when|\| once"
        rf"|as soon as)[^,|.]*? {AT}"),
    ("finish", 1.0, "touch down on x and it is done", rf"(?:touch down|drop down|land|step down|come down|get down|jump down"
        rf"|stop)(?: \w+)? (?:on|onto|in|at) {AT}(?: ,| \|| and)* (?:it|that|this) be(?: \w+)? (?:do|over|it|finish|that)(?= [,.]|$)"),
    ("finish", 1.0, "the last thing you touch is x", rf"(?:last|final) (?:thing|bit|piece|one)(?: that)? you (?:touch|hit|reach|land"
        rf" on|step on)(?: on)? be {AT}"),
    ("finish", 1.0, "two feet on x, finished", rf"(?:both|two) (?:\w+ )?foot (?:on|onto|in) {AT} , (?:and )?(?:you be )?(?:do|finish"
        rf"|over|home)"),
    ("finish", 1.0, "finish so on x", rf"(?:finish|end)(?: under| in| with)(?: full| proper)? control (?:on|at) {AT}"),
    ("finish", 1.0, "feet on x and you are through", rf"(?:both|two|your) (?:\w+ )?foot (?:on|down on|onto|in) {AT}(?: ,| \|| and)*"
        rf" (?:you (?:be|have)|that (?:be|count)|it (?:be|count))"
        r"(?: you| all| it)?(?: (?:through|do|finish|home|clear|pass|count|good|in|safe|make|make it|it|that|the \w+))?(?= [,.]|$)"),
    ("finish", 0.9, "hit x and you are done", rf"(?:hit|tap|slap|smack|press|reach|tag|strike|bash|thump|make it to|get to|get"
        rf" (?:down )?(?:on|onto|to)) {AT}(?:"
        rf" ,| \|| and)* (?:you be|you have|that be you|be|it be)"
        r"(?: all)? (?:do|finish|home|through|over|pass|clear|make it)(?= [,.]|$)"),
    ("finish", 1.0, "two feet on x for it to count", rf"(?:on|to|onto|reach) {AT} (?:for it to|so that it|to make it|before it|\|"
        rf" and it) count"),
    ("finish", 1.0, "x is the end of this", rf"{AT} be{ADV} (?:the|your) (?:end|finish|last thing|goal|target|home)(?= [,.]| of| here)"),
    ("finish", 1.0, "x completes it", rf"{AT} (?:complete|finish|end|conclude) (?:it|this|the|that)"),
    ("finish", 1.0, "x is home", rf"{AT} be{ADV} (?:home|the goal|where you want to be)(?= [,.]|$)"),
    ("finish", 1.0, "home is x", rf"(?:^|[,|] )(?:and |so |then |the |your )*(?:home|goal|target|last thing|end point|end|finish"
        rf"|finishing spot|finishing point|destination)"
        rf"(?: of it| here| point| line| spot)?(?: be| ,|:)+ (?:that be |it be )?{AT}"),
    ("finish", 1.0, "to finish, step on x", rf"^(?:and |so |then )*to (?:finish|end|complete)(?: it| this| the \w+)?(?: ,)?"
        rf" [^@.]*?{AT}{END}"),
    ("finish", 0.9, "x, done", rf"@\d+ , {AT} , (?:and )?(?:do|finish|that be it|that be you|home|the end|over)(?= [,.]|$)"),
    ("finish", 0.9, "x to complete it", rf"{AT} to (?:complete|clear|end|finish)"),
    ("finish", 1.0, "onto x and you are done", rf"(?:to|onto|on|at|in|"
        rf"into) {AT}(?: , @\d+)?(?: ,)?(?: \|)? (?:and )?(?:(?:you be|that be you|"
        rf"be) (?:do|finish|home)|that be (?:it|that|all|you)(?= [,.]|$))"),
    ("finish", 0.9, "there is the finish", rf"{PRE}there be the finish"),
    ("finish", 0.8, "ring x", rf"{STRIKE}(?: on)? {AT}"),
    ("finish", 0.9, "when x rings the time stops", rf"when {AT} (?:be )?(?:ring|go|sound|clang|"
        rf"buzz)(?: off)?(?: ,)?(?: \|)?(?: the| your| then)* "
        rf"(?:time|clock|watch|run|timer)(?: be)? (?:stop|over|end|finish)"),
    ("finish", 0.9, "x, and that is your time", rf"{AT}[^.@]{{0,40}}? (?:that be (?:your|the) time|(?:time|clock|watch|timer) stop"
        rf"|stop (?:the|your) (?:clock|time|watch|timer))"),
    ("finish", 0.9, "x stops the clock", rf"{AT}(?: \w+)? (?:stop|end) (?:the|your) (?:clock|time|timer|watch)"),
    ("finish", 0.9, "time stops when x goes", rf"(?:time|clock|run) (?:be |\| )?(?:stop|stopped|over|end)(?: \|)? (?:when|once|"
        rf"with|as soon as) {AT}"),
    ("finish", 0.9, "hear x, time stops", rf"(?:hear|ring|hit|press|touch) {AT}(?: ,)?(?: and| \|)* (?:your|the|that)(?: be "
        rf"when)?(?: the)? (?:time|clock)?(?: be)? ?stop"),
    ("finish", 0.9, "the clock stops on x", r"(?:clock|time|timer|watch|run) (?:be )?(?:stop|stopped|end|ended)"
        rf"(?: on| by| when you hit| at| with| when we hear| when you \w+) {AT}"),
    # ---- come to
    ("arrive", 0.6, "land on x", rf"{LAND}{THEN} {AT}"),
    ("arrive", 0.6, "over to x", rf"{LEAD}(?:off |over |across |down |up |on |out |back )+(?:to|onto|on to) {AT}"),
    ("arrive", 0.6, "then you are on to x", rf"then (?:you be|it be)(?: \w+)? (?:on to|onto|down on to|down onto|down to|over to"
        rf"|across to|off to) {AT}"),
    ("arrive", 0.6, "at the end is x", rf"(?:^|[,|] )(?:and |then |so )*at @?\w+(?: \w+)? (?:there )?be {AT}"),
    ("arrive", 0.6, "off a onto x", rf"(?:come|land|step|jump|drop|slide)(?: \w+)? (?:off )?@\d+ (?:on to|onto|to|on) {AT}"),
    ("arrive", 0.7, "where she landed is x", rf"where (?:she|he|they|you)(?: \w+){{1,4}}(?: ,)? (?:that )?be {AT}"),
    ("arrive", 0.6, "stop on x", rf"(?:stop|halt|hold)(?: dead| there| still)? on {AT}"),
    ("arrive", 0.6, "on x you stop", rf"on {AT} you (?:must|have to|do) stop"),
    ("past", 1.0, "anything past x", rf"(?:anything|everything|whatever|in @\d+|the \w+) (?:past|beyond|behind|after) {AT}"),
    ("past", 1.0, "past x", rf"(?:past|beyond|off the end of|overrun|overshoot|overrunning) {AT}"),
    ("past", 1.0, "over x, and that", rf"(?:who|if|anyone|anybody|whoever|\|)[^,|.]* (?:over|through|straight off|right off) {AT}"),
    # ---- things that are there
    ("there", 0.5, "there is x", rf"(?:there|here) (?:be|come|hang|stand|sit){GAP} {AT}|(?:hang|stand|sit|lie) (?:there|here){GAP}"
        rf" {AT.replace('<r>', '<r2>')}"),
    ("there", 0.5, "you have x", rf"you(?: have|'ve)(?: have)?{GAP} {AT}"),
    ("there", 0.5, "it is x", rf"(?:it|this|that|these|here|up there|up here|down there|over there)(?: also)? be(?: \w+){{0,1}} {AT}"),
    ("there", 0.5, "then it is x", rf"(?:then|that be|so|just) it be(?: \w+){{0,2}}? {AT}"),
    ("there", 0.5, "the order is x", rf"(?:order|go)(?: 's| be| it go)?(?: \w+)? , {AT}"),
    ("there", 0.3, "x itself", rf"{AT} itself"),
    ("there", 0.5, "in the middle is x", rf"(?:in|above|at|beside|next to|behind|on) (?:@\d+|the \w+) (?:there )?be(?: also)? {AT}"),
    # ---- use
    ("use", 0.6, "use x", rf"(?:{VERB}|stay|hug|carry on|continue|keep|trust)(?: hold| yourself| your \w+| a \w+| up| sideways| "
        rf"off| out| back| right|"
        rf" left| straight| along| around| on| over| them| it)*{PREP}(?: any of| all of| both| either)? {AT}"),
    ("use", 0.6, "x, you take them", rf"{LEAD}{AT}(?: , (?:all|both)(?: \S+)?)? , you {VERB} (?:them|it|those|these)(?= |$)"),
    ("use", 0.5, "onto x", rf"(?:onto|on to) {AT}"),
    ("use", 0.5, "between a and x", rf"between @\d+ and {AT}"),
    ("use", 0.5, "along x", rf"(?:along|across|over|up|through|around|round|between|under|down|beneath|via) {AT}"),
    # ---- others
    ("either", 0.5, "either x", rf"(?:either|both) {AT}"),
    ("later", 1.0, "x is later", rf"{REF}(?: 's| be)(?: for)? (?:later|for later|not here|for spectators?)"),
    ("next-start", 1.0, "x is also the next start", rf"{REF}{ADV} be{ADV} (?:also )?(?:the start (?:of|for) (?:number|the next|"
        rf"station|obstacle)|"
        r"where (?:number|station|obstacle|the next)(?: \w+){0,2} (?:start|begin|take off|set off|go))"),
    ("next-start", 0.7, "the next one starts there", r"(?:number|station|obstacle|the next)(?: one| obstacle| station| \w+)? "
        r"(?:start|begin|take off|set off)(?: from| on| there| right there| here) ?(?P<r>@\d+|it|that|this|there)?"),
)  # fmt: skip

PATTERNS: tuple[tuple[ActKind, float, str, re.Pattern[str]], ...] = tuple(
    (kind, weight, rule, re.compile(r"(?<![a-z])" + row)) for kind, weight, rule, row in _ROWS
)
