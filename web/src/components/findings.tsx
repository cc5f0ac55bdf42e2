/** Gaps and contradictions, in sentences, where they apply, with the way out beside them. */

import type { Edit, Finding } from "../api";
import { type Mend, mayBePutAside } from "../models/mends";
import { to } from "../models/route";
import { strings } from "../strings";
import { capital, Evidence, Link } from "./bits";
import { Line } from "./fields";
import { useHalf } from "./half";

type Shown = {
  findings: readonly Finding[];
  course?: string;
  bare?: boolean;
  /** What can be done about a finding; without it they can only be read. */
  hand?: { mends: (finding: Finding) => readonly Mend[]; edit: (edits: readonly Edit[]) => void };
};

export function Findings({ findings, course, bare = false, hand }: Shown) {
  if (findings.length === 0) return null;
  return (
    <ul class="findings">
      {findings.map((finding) => (
        <li key={`${finding.kind} ${finding.station} ${finding.surface} ${finding.about}`} class={`finding finding-${finding.severity}`}>
          <p>
            <span class="severity">{strings.finding.severity[finding.severity]}</span>
            {course !== undefined && finding.station !== null && (
              <>
                {" "}
                <Link href={to.station(course, finding.station)}>{strings.finding.atStation(finding.station)}</Link>
              </>
            )}{" "}
            {sentence(finding.about)}
          </p>
          {!bare && <Evidence said={finding.said} />}
          {hand && <Hand finding={finding} mends={hand.mends(finding)} edit={hand.edit} />}
        </li>
      ))}
    </ul>
  );
}

/** What can be done about one finding. */
export function Hand({ finding, mends, edit }: { finding: Finding; mends: readonly Mend[]; edit: (edits: readonly Edit[]) => void }) {
  const s = strings.sheet;
  const [because, setBecause] = useHalf(["aside", finding.kind, finding.station, finding.surface].join(" "));
  const aside = mayBePutAside(finding);
  if (mends.length === 0 && !aside) return null;
  const putAside = (event: Event) => {
    event.preventDefault();
    const why = because?.trim();
    if (!why) return;
    edit([{ do: "dismiss", station: finding.station, kind: finding.kind, surface: finding.surface, because: why }]);
    setBecause(null);
  };
  return (
    <div class="mends">
      {mends.map((mend) => (
        <span key={mend.label} class="mend">
          {mend.ask && <span>{mend.ask}</span>}
          <button type="button" class="small" onClick={() => edit(mend.edits)}>
            {mend.label}
          </button>
        </span>
      ))}
      {aside && because === null && (
        <button type="button" class="plain small" onClick={() => setBecause(s.asideRight)}>
          {s.aside}
        </button>
      )}
      {aside && because !== null && (
        <form class="add" onSubmit={putAside}>
          <Line label={s.asideWhy} value={because} write={setBecause} first="select" leave={() => setBecause(null)} />
          <div class="row">
            <button type="submit" class="small" disabled={!because.trim()}>
              {s.asideGo}
            </button>
            <button type="button" class="plain small" onClick={() => setBecause(null)}>
              {s.never}
            </button>
          </div>
        </form>
      )}
    </div>
  );
}

/** A finding's words as a sentence: without the station that it stands at anyway and the ids of stills, which keep an old number of it,
 * with a capital letter, and a full stop where none stands. */
export function sentence(about: string): string {
  const text = capital(about.replace(/^Station \d+[^:]{0,200}: /, "").replace(/\(s\d+-\d+, /g, "("));
  return /[.!?]$/.test(text) ? text : `${text}.`;
}
