"""Patterns that give a phrase its place: start, finish, come to, used, there. How they are read: patterns.py."""

from __future__ import annotations

from annotator.rules.pieces import (
    ADV,
    AT,
    BEGIN,
    DONE,
    END,
    GAP,
    IS,
    LAND,
    LEAD,
    PP,
    PRE,
    PREP,
    REF,
    STRIKE,
    THEN,
    VERB,
    ActKind,
)

ROLES: tuple[tuple[ActKind, float, str, str], ...] = (
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
    ("start", 1.0, "x, that is where your run begins", rf"{AT}{PP}(?: ,)?(?: and)? (?:that|this|which) be (?:where|how) (?:\w+"
        rf" ){{1,3}}?(?:begin|start|commence"
        rf"|set off|go from|leave from)(?= [,.|]|$)"),
    ("start", 1.0, "wait on x", rf"(?:go|get|stand|stay|be|sit|hop|climb|jump|kneel|lie|crouch)(?: up| down| yourself| ready)* (?:on|in"
        rf"|at|behind|under|onto) {AT}"
        rf"(?: ,)?(?: \|)?(?: and| then)* (?:wait|get ready|listen|hold on for|watch for|on (?:the|my) (?:whistle|call|signal|word"
        rf"|count))"),
    ("start", 1.0, "you have your start on x", rf"(?:start|starting (?:point|place|position|spot)|beginning)(?: for (?:this|that)(?:"
        rf" one)?| here| of (?:it|this one))?"
        rf" (?:be|lie|come)(?: \w+){{0,2}} (?:on|at|from|behind|in|off|under|beside) {AT}"),
    ("start", 1.0, "stand in x to start", rf"(?:in|by|under|inside|beside|next to|against|behind|on|at) {AT} (?:to|for the|for your)"
        rf" (?:begin|start|commence)"),
    ("start", 0.9, "stand by a, on x", rf"{LEAD}(?:stand|wait|get ready|be)(?: \w+){{0,2}} (?:under|by|behind|before|in front of|below"
        rf"|beside|next to) @\d+ ,? ?(?:on|in|at) {AT}"),
    ("start", 0.85, "put yourself on x", rf"{LEAD}(?:pop|plonk|park|plant|place|put|position|get|set|settle|station|perch|balance)"
        rf" (?:yourself|yourselves)(?: up| down| ready"
        rf"| nicely)*"
        rf" (?:on|in|at|behind|by|under|onto) {AT}"),
    ("start", 0.9, "on your marks at x", rf"on your mark(?: \w+)? (?:at|on|behind|by) {AT}"),
    ("start", 1.0, "it is from x", rf"(?:^|[,|] )(?:and |so |then )*(?:it|this|this one|that) (?:be|go|run|lead) from {AT}"),
    ("start", 1.0, "launch pad is x", rf"(?:launch|launching|takeoff|take - off|entry|jump - off)(?: pad| point| spot| place| zone|"
        rf" area| mat)? be {AT}"),
    ("start", 0.8, "mount x first", rf"{LEAD}(?:mount|board|get (?:up )?on|get (?:up )?onto|climb (?:up )?on|climb (?:up )?onto|hop"
        rf" (?:up )?on|step (?:up )?on)"
        rf"(?:to)? {AT} (?:first|to begin|to start)"),
    ("start", 0.8, "hop on from x", rf"(?:hop|step|get|climb|jump|go|move|set|push|come|walk|head|swing|run|start)(?: on| out| away|"
        rf" off| across| over| in| up)*"
        rf" from {AT}"),
    # ---- finish
    ("finish", 1.0, "when your feet are on x you are done", rf"(?:once|when|until|till|as soon as|the moment|the second|after|if)(?:"
        rf" that)? "
        rf"[^.@|]{{0,40}}? {AT}(?: ,| \|| then| and|{PP})*(?: (?:stand|stay|stop|hold|throw|raise|touch|put|say|shout"
        rf"|wave)[^.@]{{0,25}}?)? {DONE}"),
    ("finish", 1.0, "it is over when you are on x", rf"{DONE} (?:when|once|as soon as|only when|the moment|after|by) [^.@|,]{{0,40}}?"
        rf" {AT}"),
    ("finish", 1.1, "the station is over when you are on x", rf"(?:station|obstacle|it|this|that|everything)(?: one)? be (?:over|do"
        rf"|finish|complete)"
        rf" (?:when|once|as soon as|only when|the moment|after) [^.@|,]{{0,40}}? {AT}"),
    ("finish", 1.0, "landing pad is x", rf"(?:landing|exit|touchdown|finish)(?: pad| point| spot| place| zone| area| mat)? be {AT}"),
    ("finish", 1.0, "it completes by feet on x", rf"(?:complete|finish|end|conclude) [^.@,|]{{0,40}}?(?:by|with|when|once|upon) [^.@,"
        rf"|]{{0,30}}?(?:on|onto|in|at|to|reach|touch"
        rf"|strike|hit|ring) {AT}"),
    ("finish", 0.9, "in x, and that is you finished", rf"(?:on|in|onto|into|at|to|reach) {AT} [^.@]{{0,40}}? , (?:and )?(?:that be"
        rf" (?:you|it)(?: all)? (?:finish|do|home|through|over)"
        rf"|you have (?:finish|make it|do it))"),
    ("finish", 0.85, "give x a whack", rf"give {AT} (?:a |one |the )?(?:\w+ )?(?:whack|ring|bash|slap|smack|tap|thump|clang|bang|wallop"
        rf"|clout|knock|hit|press|pull|tug|shake|punch)"),
    ("finish", 1.0, "x, there you finish", rf"{AT}(?: ,)?(?: \|)?(?: and)? there (?:you|it) (?:be )?(?:finish|end|do|stop)"),
    ("finish", 0.9, "get onto x, that is you done", rf"(?:on|onto|to|at|in|into|reach|touch|hit|slap|tap|ring|press|make) {AT}{PP} ,"
        rf" (?:and )?{DONE}"),
    ("finish", 1.0, "x is your target", rf"{AT}{PP} be{ADV} (?:your |the |our |what you )(?:\w+ )?(?:target|goal|destination|end point"
        rf"|endpoint|last stop|exit"
        rf"|landing(?: spot| place| zone| area)?|aim for|go for|home|finish)(?= [,.|]|$| and| here)"),
    ("finish", 1.0, "the target is x", rf"(?:^|[,|] )(?:and |so |then |the |your |our )*(?:target|goal|destination|end point|endpoint"
        rf"|last stop|exit|landing"
        rf"(?: spot| place| zone| area)?|finish line|finale|(?:final|last) (?:element|thing|piece|part|bit|one|surface|stop|spot))(?:"
        rf" here| of it| there)?"
        rf" be (?:that |on |the )*{AT}"),
    ("finish", 0.9, "aim for x", rf"(?:aim|head|make|shoot) for {AT}(?= [,.|]|$| at the end| over there| there)"),
    ("finish", 1.0, "x completes", rf"{AT} [^.@|,]{{0,25}}?(?:complete|conclude|end|finish) (?:the|it|this|that|your)(?= |$)"),
    ("finish", 1.0, "x is what ends it", rf"{AT}{PP}{IS}{ADV} (?:what|where|how|when) (?:\w+ ){{0,3}}?(?:end|finish|stop|complete"
        rf"|conclude)"),
    ("finish", 1.0, "finish on x", r"(?:finish|end up|end|you end|done|conclude)(?: up| off| down| with (?:both|two|your|one) foot| by"
        r" stand| here| there| right| "
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
    ("arrive", 0.6, "off the end onto x", rf"(?:off|over|down|across)(?: the (?:end|back|side|edge|other side)| @\d+)? (?:onto|on to)"
        rf" {AT}"),
    ("arrive", 0.7, "come to rest on x", rf"(?:come|roll|slide|end up|wind up)(?: \w+)? (?:to (?:rest|a stop|a halt|a standstill)|down)"
        rf" (?:on|in|at) {AT}"),
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
    ("next-start", 0.7, "the next one starts there", r"(?:number|station|obstacle|(?:the |your |our )?next)(?: one| obstacle| station|"
        r" \w+)? "
        r"(?:start|begin|take off|set off|go|leave)(?: from| on| there| right there| here) ?(?P<r>@\d+|it|that|this|there)?"),
)  # fmt: skip
