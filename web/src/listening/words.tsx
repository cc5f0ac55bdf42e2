/** The words of the open piece: the spoken one underlined, a tap goes there; chosen words can be changed in place. */

import { useComputed, useSignalEffect } from "@preact/signals";
import { useEffect, useLayoutEffect, useMemo, useRef } from "preact/hooks";
import type { CourseView, HeardName, WalkWord } from "../api";
import { useLeaving } from "../components/half";
import { strings } from "../strings";
import type { Desk } from "./desk";
import { dressed, paragraphs, placesOf, type Run, textOf, whole, wordAt } from "./text";

const s = strings.listening;
type Part = { desk: Desk; view: CourseView; run: Run; title: string };
type Doubt = Readonly<{ run: Run; name: HeardName }>;

export function Said({ desk, view, run, title }: Part) {
  const box = useRef<HTMLDivElement>(null);
  const words = desk.spoken.words.value;
  const chosen = desk.chosen.value;
  const parts = useMemo(() => paragraphs(words, run), [words, run.from, run.to]);
  const doubts = useMemo(() => doubtsIn(words, view.course.heard, run), [words, view.course.heard, run.from, run.to]);
  useSpoken(desk, box, run);
  const goTo = (at: number, add: boolean) => {
    const from = chosen ? anchorOf(chosen, desk) : at;
    desk.choose(add ? { from: Math.min(from, at), to: Math.max(from, at) } : { from: at, to: at });
    if (!add) anchors.set(desk, at);
    focusWord(box.current, at);
  };
  const key = (event: KeyboardEvent) => {
    const at = placeOf(event.target);
    if (at === null) return;
    const now = chosen && chosen.from <= at && at <= chosen.to ? chosen : { from: at, to: at };
    const move = event.key === "ArrowLeft" ? -1 : event.key === "ArrowRight" ? 1 : 0;
    if (move !== 0 && !event.ctrlKey && !event.metaKey && !event.altKey) {
      const next = Math.min(run.to, Math.max(run.from, at + move));
      goTo(next, event.shiftKey);
    } else if (event.key === "Home" || event.key === "End") goTo(event.key === "Home" ? run.from : run.to, event.shiftKey);
    else if (event.key === "Enter") {
      desk.choose(now);
      desk.write();
    } else if (event.key === "Delete" || event.key === "Backspace") void desk.rewrite(now, "");
    else if (event.key === "Escape" && chosen) desk.choose(null);
    else if (event.key.toLowerCase() === "h" && desk.letters.value && !event.ctrlKey && !event.metaKey)
      void desk.asHeard(whole(words, now));
    else return;
    event.preventDefault();
    event.stopPropagation();
  };
  return (
    <section class="said" aria-label={s.wordsOf(title)}>
      <p class="quiet said-how">{s.howTo}</p>
      {/* biome-ignore lint/a11y/noStaticElementInteractions: the words in it are the buttons; one listener serves them all */}
      <div
        ref={box}
        class="said-words"
        dir="auto"
        onClick={(event) => {
          const at = placeOf(event.target);
          const word = at === null ? undefined : words[at];
          if (at === null || !word) return;
          goTo(at, event.shiftKey);
          if (!event.shiftKey) desk.go(word.start);
        }}
        onKeyDown={key}
      >
        {parts.map((part) => (
          <Paragraph
            key={`${words[part.from]?.first}`}
            desk={desk}
            words={words}
            part={part}
            chosen={overlap(chosen, part)}
            first={run.from}
            writing={desk.writing.value && chosen !== null && chosen.from >= part.from && chosen.from <= part.to}
            doubts={doubts}
          />
        ))}
      </div>
    </section>
  );
}

const anchors = new WeakMap<Desk, number>();

function anchorOf(chosen: Run, desk: Desk): number {
  const anchor = anchors.get(desk);
  return anchor !== undefined && (anchor === chosen.from || anchor === chosen.to) ? anchor : chosen.from;
}

function overlap(run: Run | null, part: Run): Run | null {
  if (!run || run.to < part.from || run.from > part.to) return null;
  return { from: Math.max(run.from, part.from), to: Math.min(run.to, part.to) };
}

function doubtsIn(words: readonly WalkWord[], heard: readonly HeardName[], run: Run): readonly Doubt[] {
  const open = heard.filter((name) => name.state === "proposed");
  return open
    .flatMap((name) => placesOf(words, name).map((place) => ({ run: place, name })))
    .filter(({ run: place }) => overlap(place, run));
}

function placeOf(target: EventTarget | null): number | null {
  const word = target instanceof Element ? target.closest<HTMLElement>(".said-word") : null;
  return word?.dataset.at === undefined ? null : Number(word.dataset.at);
}

/** The focus goes to a word: now where it stands already, and once more where it is only being drawn. */
function focusWord(box: HTMLElement | null, at: number): void {
  const focus = () => box?.querySelector<HTMLElement>(`[data-at="${at}"]`)?.focus();
  focus();
  requestAnimationFrame(() => {
    if (placeOf(document.activeElement) !== at && document.activeElement?.closest(".said-write") === null) focus();
  });
}

/** Underlines the word that is spoken, without drawing anything anew. */
function useSpoken(desk: Desk, box: { current: HTMLElement | null }, run: Run): void {
  const now = useComputed(() => {
    const words = desk.spoken.words.value;
    const at = wordAt(words, desk.playing.time.value + 0.02);
    return at >= 0 && desk.playing.time.value < (words[at]?.end ?? 0) + 0.4 ? at : -1;
  });
  const mark = () => {
    for (const old of box.current?.querySelectorAll(".said-now") ?? []) old.classList.remove("said-now");
    box.current?.querySelector(`[data-at="${now.value}"]`)?.classList.add("said-now");
  };
  useSignalEffect(mark);
  useEffect(mark, [run.from, run.to, desk.spoken.words.value]);
}

type ParagraphPart = {
  desk: Desk;
  words: readonly WalkWord[];
  part: Run;
  chosen: Run | null;
  first: number;
  writing: boolean;
  doubts: readonly Doubt[];
};

/** Drawn anew only where its own words, or what is chosen in it, change. */
function Paragraph({ desk, words, part, chosen, first, writing, doubts }: ParagraphPart) {
  const drawn = useMemo(() => {
    const before = { from: part.from, to: (writing && chosen ? chosen.from : part.to + 1) - 1 };
    const after = writing && chosen ? { from: chosen.to + 1, to: part.to } : null;
    const some = (run: Run) =>
      words.slice(run.from, run.to + 1).map((word, place) => {
        const at = run.from + place;
        const doubt = doubts.some(({ run: there }) => there.from <= at && at <= there.to);
        return (
          <Word
            key={at}
            at={at}
            word={word}
            chosen={chosen !== null && chosen.from <= at && at <= chosen.to}
            stop={chosen ? at === chosen.from : at === first}
            doubt={doubt}
          />
        );
      });
    return (
      <p dir="auto">
        {some(before)}
        {writing && chosen && <Write desk={desk} words={words} />}
        {after && some(after)}
      </p>
    );
  }, [words, part.from, part.to, chosen?.from, chosen?.to, writing, doubts, first === part.from]);
  return (
    <>
      {drawn}
      {chosen && !writing && desk.chosen.value && desk.chosen.value.to <= part.to && (
        <WordHands desk={desk} words={words} run={desk.chosen.value} doubts={doubts} />
      )}
    </>
  );
}

type WordPart = { at: number; word: WalkWord; chosen: boolean; stop: boolean; doubt: boolean };

function Word({ at, word, chosen, stop, doubt }: WordPart) {
  const kind = `said-word${word.by === "heard" ? "" : ` said-${word.by}`}${doubt ? " said-doubt" : ""}`;
  return (
    <>
      <button type="button" class={kind} data-at={at} aria-pressed={chosen} tabIndex={stop ? 0 : -1}>
        {word.text}
        {doubt && <span class="unseen">?</span>}
      </button>{" "}
    </>
  );
}

/** The chosen words as they are being written anew. The field has the focus before the next key can come, so no letter goes astray. */
function Write({ desk, words }: { desk: Desk; words: readonly WalkWord[] }) {
  const run = desk.chosen.value;
  const field = useRef<HTMLInputElement>(null);
  useLayoutEffect(() => {
    field.current?.focus();
    field.current?.select();
  }, []);
  const typed = useRef<string | null>(null);
  useLeaving(() => {
    if (run && desk.writing.value && typed.current !== null) void desk.rewrite(run, typed.current);
    typed.current = null;
  });
  if (!run) return null;
  const old = textOf(words, run);
  const keep = () => {
    const text = field.current?.value ?? old;
    void desk.rewrite(run, text);
    const box = field.current?.closest<HTMLElement>(".said-words") ?? null;
    focusWord(box, run.from);
  };
  return (
    <input
      ref={field}
      class="said-write"
      aria-label={s.newText}
      defaultValue={old}
      maxLength={500}
      size={Math.min(60, Math.max(6, old.length + 4))}
      dir="auto"
      autocapitalize="off"
      spellcheck={true}
      onInput={(event) => {
        typed.current = event.currentTarget.value;
      }}
      onKeyDown={(event) => {
        event.stopPropagation();
        if (event.key === "Enter" && !event.isComposing) keep();
        else if (event.key === "Escape") {
          const box = field.current?.closest<HTMLElement>(".said-words") ?? null;
          if (field.current) field.current.value = old;
          desk.stopWriting();
          focusWord(box, run.from);
        } else return;
        event.preventDefault();
      }}
      onBlur={() => {
        if (desk.writing.value) keep();
      }}
    />
  );
}

/** What the hand can do with the chosen words, right below them. */
function WordHands({ desk, words, run, doubts }: { desk: Desk; words: readonly WalkWord[]; run: Run; doubts: readonly Doubt[] }) {
  const all = whole(words, run);
  const [first, last] = [words[all.from], words[all.to]];
  if (!first || !last) return null;
  const changed = words.slice(all.from, all.to + 1).some((word) => word.by === "hand");
  const heard = desk.spoken.corrections.value
    .filter((each) => each.first < last.last && each.last > first.first)
    .map((each) => each.heard)
    .join(" … ");
  const doubt = doubts.find(({ run: there }) => overlap(there, run));
  const inside = desk.piece.value;
  return (
    <fieldset class="word-hands" aria-label={s.selected(textOf(words, run))}>
      <button type="button" onClick={() => desk.write()}>
        {s.change}
      </button>
      <button type="button" class="plain" onClick={() => void desk.rewrite(run, "")}>
        {s.leaveOut}
      </button>
      {run.to + 1 < words.length && (
        <button type="button" class="plain" onClick={() => desk.choose({ from: run.from, to: run.to + 1 })}>
          {s.wider}
        </button>
      )}
      {changed && (
        <button type="button" class="plain" onClick={() => void desk.asHeard(all)}>
          {s.asHeard}
        </button>
      )}
      {inside?.at && first.start > inside.start + 0.5 && first.start < inside.end && (
        <button type="button" class="plain" onClick={() => inside.at && void desk.split(inside.at, first.start)}>
          {s.split}
        </button>
      )}
      {changed && heard && <p class="quiet">{s.heardWas(heard)}</p>}
      {doubt && <NameHands desk={desk} name={doubt.name} />}
    </fieldset>
  );
}

export function NameHands({ desk, name }: { desk: Desk; name: HeardName }) {
  return (
    <div class="name-hands">
      <p>
        {s.name(name.heard, name.name)} <span class="quiet">{name.reason}</span>
      </p>
      <p class="row">
        <button type="button" onClick={() => void desk.settleName(name, true)}>
          {s.yesName(dressed(name.heard, name.name), name.at.length)}
        </button>
        <button type="button" class="plain" onClick={() => void desk.settleName(name, false)}>
          {s.noName}
        </button>
      </p>
    </div>
  );
}
