"""Whether one may land past the finish: what is said of going on over it, of stopping on it, and of the answer to that question.

In: a line and the register of its station. Out: a record on the entry that it is about, or loose where the finish is not told yet.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from annotator.course import Overshoot
from annotator.rules.acts import asks
from annotator.rules.lexicon import PLATFORMS
from annotator.rules.reading import Line
from annotator.rules.referents import Entry, Gathered, Register

OVER = re.compile(
    r"\b(?:over (?:the |that )?(?:\w+ ){1,2}running|overshoot\w*|overrun\w*|(?:run|runs|running|ran|go|goes|going|blow|blows|"
    r"fly|flies|flying|sail\w*|charg\w+|carry|carries|step|"
    r"steps|take you|takes you|bring you|sail|slide|roll|shoot\w*)(?: \w+){0,4}? (?:past|over it|over the|beyond|through it|"
    r"straight over|right past|further than|farther than|off the (?:far |other )?(?:end|side)|off the back|over the back|"
    r"over the far|straight off|right off|off it\b|off the end)|"
    r"how far (?:you|they|past|over)|(?:roll|fall|tumble|slide|bounce|flop|run|go) (?:over|off|on|past|flat|across)[^,.]{0,20}(?= (?:i"
    r"|we|nobody|no one|after)\b)|"
    r"run(?:ning)? on after|momentum|beyond (?:it|the|that)|who go(?:es)? over|keep(?:s)? going(?! (?:till|until|to|along|up|round"
    r"|around|across))|legs carry you|run it out|past it|straight"
    r" over it|right past it|go over the)\b"
)
_GO = (
    r"(?:run|go|fly|sail|charge|carry|step|slide|roll|shoot|tumble|fall|land|jump|come|skid|walk|blow|trot|jog|spill|stumble|bounce"
    r"|hop|leap|"
    r"swing|momentum|dive|topple|drift|sprint|move|end up|get|travel)"
)
GOES_PAST = re.compile(
    rf"\b(?:(?:overrun|overshoot|overstep|overcook)|keep (?:on )?(?:run|go|move|roll)|{_GO}(?: (?!off\b|over\b|past\b|beyond\b|through\b|"
    r"not\b|@)\w+){0,4}? (?:past|beyond|over|off|through|further|farther|on past|out the back)(?: (?:it|that|there|them|those|@\d+ of (?:it"
    r"|that|them)|the (?:end|back"
    r"|edge|far|"
    r"other|front|side|mat|finish)|of it|the|you)\b| (?=[,.|])|$)|"
    r"(?:carry|take) you (?:over|past|off|beyond|through|on)|(?:run|go|carry|keep) (?:on|further|farther|straight on)(?: up it| over"
    r" it)?(?= if| , |\.| \.| and)|"
    r"(?:over|past|on) @\d+ (?:further|on|farther|out)? ?(?:run|go)|go further(?= |$)|"
    r"(?:carry|run|go|keep|charge) (?:on |straight |right )?through\b|(?:past|beyond|behind) (?:it|that|@\d+)(?= ,| be)|"
    r"[a-z]+ (?:on |straight |right )?(?:past|beyond|by|through|over) (?:it|that)(?= (?:if|as|all) ))"
)
"""Going on over the end, told by any verb of moving."""
STOP = re.compile(
    r"\b(?:(?:have to|must|need to|got to|gotta|should|do|please|'ve got to) (?:be|stand|land|stay|keep) (?:dead |quite |absolutely"
    r" )?(?:still|put)|"
    r"stay(?:ing)? put|(?:hold|freeze)(?: it| on it| there)? for (?:a (?:count|second|moment|beat)|two|three|one)|must (?:you"
    r" )?(?:stay|remain|be"
    r"|keep) (?:standing|still|there|on it|stood)|(?:stay|remain) (?:on|there"
    r"|standing)(?: \w+){0,3} (?:till|until)|(?:want|need|like) you (?:\w+ )?(?:stationary|motionless|still|balanced|under control"
    r"|stopped|standing)|(?:be|stand|stay|come to rest|'re|are) "
    r"(?:stationary|motionless)|stick the landing|(?:show|have|be in|need) (?:full |good |some |proper )?control|stand still|no stepping"
    r" off|must (?:\w+ )?stop"
    r"|come to a (?:stop|halt|standstill)|(?:kindly|please|actually|you) stay (?:on it|there|put)|"
    r"do stop|do have to stop|have to stop|got(?:ta| to) stop|need to stop|stop dead|got(?:ta| to) hold|have "
    r"to hold|must hold|(?:have to|must|need to|gotta|got to) stay on|hold it there|and hold it|stick it|stick the landing|"
    r"stop on it|(?:a )?dead stop|stops? (?:dead|still)|hold still|(?:do not|don't) (?:pass|leave) (?:it|the)|"
    r"(?:and|so|then|,) stay (?:in|on) (?:it|the \w+)(?= ,|,| or|\.|$))\b"
)
FINE = re.compile(
    r"\b(?:fine|okay|ok|all right|alright|no problem|no harm|grand|not bothered|without penalty|don't (?:care|mind)|is "
    r"allowed|that's allowed|can run|may run|can go|may go|no bother|doesn't matter|as far as you want|no matter|not a "
    r"problem|no worries|no issue|(?:not|isn't) a (?:fault|fail|foul|problem)|(?:not|n't) minding|nobody's (?:gonna|"
    r"going to)|you're (?:good|grand|fine|golden)|"
    r"it (?:still )?counts|you can (?:just )?(?:run|carry|keep)|makes? no odds|too easy|made it|no dramas?|no fault|(?:is|"
    r"it's) permitted|(?:the same to|"
    r"to) me(?: it's| it is)? "
    r"(?:all )?the same|all the same to me|(?:doesn't|does not|won't|will not|don't|do not) (?:bother|matter|worry|hurt|count"
    r" against)\w*|"
    r"not fussed|couldn't care|could not care|be my guest|knock yourselves? out|who cares|no penalty|no sweat|happy days|suits me|"
    r"doesn't matter|up to you|won't call|not going to call|nobody minds|no one minds|no foul|fair enough|go for it|as you like|if"
    r" you (?:like|want)|"
    r"good with me|cool with me|all you like|as much as you like|as far as you like|if you (?:want|like|fancy|must|have to)|no trouble|"
    r"no bother|that's you|still counts|no need to stop|makes no difference|don't sweat|never mind|you've finished|you're still|all good|"
    r"(?:you'll|she'll|he'll|it'll|that'll) be (?:right|fine|okay|grand|sweet|good|all right|alright)|(?:so|as) long as you(?:'ve|have)?"
    r" (?:\w+ )?(?:hit|touch|touched|tag|tagged|land|landed|tap|tapped|got|get|make|made|set|put)|no one's counting|all (?:right|fine)|"
    r"(?:perfectly|quite|totally|absolutely) (?:legal|fine|okay|good)|never hurt|sweet as|"
    r"(?:nobody|no one|no-one|i|we|judges?|don't|doesn't|not) (?:cares?|minds?|counts?|bothered|fussed|worried)|(?:is|be|are|it's"
    r"|that's) permitted|"
    r"(?:i|we) don't mind|without (?:a |any )?penalty|just get (?:on|to)|"
    r"so be it|not (?:be )?(?:penali[sz]ed|punished|counted)|no consequence|(?:no one|nobody) will stop|fly as far|as far as|"
    r"help yourself|happy with|makes? no odds|no odds|fill your boots|no point|forgiven|don't stop you|that's legal|so what|"
    r"(?:is|be|are|it's|that's|quite|overshooting|overrunning) (?:acceptable|permitted|tolerated)|all one|for all i care|"
    r"(?:you've |you have |you are |you're |'s |is |it |be |count\w* )?"
    r"still (?:good|done|in|finished|home|safe|sat|valid|made it|a (?:finish|clear))|"
    r"where(?:ver)? you (?:please|like|want)|not an (?:error|offence)|no crime|already (?:done|finished|home|counted|clear))\b"
)
BADLY = re.compile(
    r"\b(?:fail\w*|fall|can't|cannot|can not|mustn't|must not|don't|not allowed|do not|no overshooting|not (?:past|over)|"
    r"you're out|doesn't count|no credit|may not|(?<!not )(?<!n't )a (?:fault|foul|miss|no)(?= |$|[.,])|cancel\w*|lose (?:that|your"
    r"|the)|(?:have|"
    r"has|got) to (?:repeat|go back|do it again|start again)|"
    r"start again|do it again|not permitted|forbidden|a penalty|won't count|no good|costs? (?:you|him|her|them)|"
    r"ends? (?:the|your)|it's over|it is over|a foul|a fault|disqualif\w+|is out|not on|off you|have your number|has your number|lost it|"
    r"you lose|back you go|never)\b"
)
_NEED_NOT_STOP = re.compile(
    r"\b(?:(?:just|only) (?:has|have|need|needs|got|'ve got) to (?:touch|tag|tap|hit)|(?:a|one|the) (?:quick )?touch (?:will do|is"
    r" enough|is fine|'s fine|'s enough|"
    r"counts|does it)|touch and go\b|(?:tag|touch|tap|hit) (?:it|that)(?:,? and)? (?:keep going|keep running|go on|carry on|run on"
    r"|off you go)|don't (?:worry|bother|fret)(?:"
    r" yourself)? (?:about|with) "
    r"(?:stopping|staying|holding|sticking)|no need to (?:stick|hold|stay)|needn't stick)[^,.]*|"
    r"\b(?:needn't|need not|don't (?:have|need) to|do not have to|no need to) (?:stop|stay|stand|hold)\b[^,.]*"
)
_GOES_OVER = re.compile(r"\b(?:run|go|jump|step|slide|carry on|keep going|overshoot)\b[^?]*\b(?:over|past|beyond|through|off|on)\b")
CROSSED = re.compile(
    rf"\b(?:{_GO}|overrun|overshoot|overrunning|charge)(?: (?!not\b|never\b)\w+){{0,3}}? (?:over|across|past|beyond|through|off) @(\d+)"
)


_WHETHER = re.compile(r"\bwhether\b.*\bor\b")
"""Both ways are one: "whether you run past it or stop on it"."""
_GO_ON = re.compile(r"(?:and |so |then |just |please )*(?:carry|keep|run|go|charge)\b")


def _ends_on(register: Register, line: Line, crossed: re.Match[str]) -> bool:
    """Whether what one goes over is where the station ends."""
    entry = register.whole(line.mentions[int(crossed[1])])
    return entry is not None and entry.weight("finish", "arrive") > 0


def _past_what(out: Gathered, line: Line, entries: Mapping[int, Entry]) -> bool:
    """Whether a finish has been told (or come to) by now, so that going past something means going past it."""
    if any(a.kind in ("start", "use") and a.weight >= 0.7 for a in line.acts):
        return False
    return any(e.weight("finish", "arrive") for e in (*entries.values(), *out.register.entries))


def take_overshoot(out: Gathered, line: Line, entries: Mapping[int, Entry], corrected: bool, after: Sequence[Line]) -> None:
    text = line.plain
    if (OVER.search(text) or GOES_PAST.search(line.skeleton.text)) and not (FINE.search(text) or BADLY.search(text)):
        text = " ".join([text, *(x.plain for x in after if not x.mentions)])  # "and if you fly over it. No problem."
    said: Overshoot | None = None
    if asks(line.skeleton) and after and _GOES_OVER.search(text):
        said_so: Overshoot = "allowed" if re.match(r"(?:oh |well )*(?:yes|yeah|yep|sure|of course)\b", after[0].plain) else "not allowed"
        last = next((e for e in reversed(out.register.entries) if e.weight("finish", "arrive")), None)
        if last is not None and re.match(r"(?:oh |well )*(?:yes|yeah|yep|sure|of course|no|nope|nah)\b", after[0].plain):
            last.overshoot.append((said_so, line.index, line.said, corrected))
        return
    over, stop = OVER.search(text), STOP.search(_NEED_NOT_STOP.sub("", text))
    if over is None and (went := GOES_PAST.search(line.skeleton.text)) is not None and _past_what(out, line, entries):
        over = re.search(r"\w+", text) if went else None
    if stop is None and _NEED_NOT_STOP.search(text) and not BADLY.search(_NEED_NOT_STOP.sub("", text)):
        said = "allowed"
        over = None
    crossed = None if over else CROSSED.search(line.skeleton.text)
    if crossed is not None:
        over = re.search(r"\b(?:over|across|past|beyond|through|off)\b", text) if _ends_on(out.register, line, crossed) else None
    if over and _WHETHER.search(text):
        said = "allowed"
    elif stop:
        said = "not allowed"
    elif over and not re.search(r"\bplatform to platform\b", text):
        rest = text[over.start() :]
        text = re.sub(r"\bif you (?:can't|cannot|don't|do not) (?:quite )?(?:stop|help it|hold (?:it|on)|slow)\b", "", text)
        if FINE.search(text) and not re.search(r"\b(?:can't|cannot|not okay|isn't (?:fine|okay)|not fine)\b", text):
            said = "allowed"
        elif BADLY.search(rest) or BADLY.search(text):
            said = "not allowed"
        elif (
            re.match(r"(?:and |so |then |just |please )*(?:carry|keep|run|go|charge)\b", text)
            or re.search(r"\b(?:you can|you may|can run|may run)\b", text)
            or "run it out" in text
        ):
            said = "allowed"
    if said is None:
        return
    register = out.register
    likely = [e for e in entries.values() if e.mention.head in PLATFORMS or e.weight("finish", "arrive")]
    target = max(likely, key=lambda e: (e.weight("finish") >= 0.75, e.weight("arrive") > 0, e.mention.head in PLATFORMS), default=None)
    if target is None:
        target = next((e for e in reversed(register.entries) if e.weight("finish", "arrive")), None)
    if target is not None and target.part:
        target = register.whole(replace(target.mention, part=None)) or target
    record = (said, line.index, line.said, corrected)
    if target is not None:
        target.overshoot.append(record)
    else:
        out.loose_overshoot.append(record)
