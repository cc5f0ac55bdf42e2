/** Gaps and contradictions, in sentences, where they apply. */

import type { Finding } from "../api";
import { to } from "../models/route";
import { strings } from "../strings";
import { capital, Evidence, Link } from "./bits";

export function Findings({ findings, course, bare = false }: { findings: readonly Finding[]; course?: string; bare?: boolean }) {
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
        </li>
      ))}
    </ul>
  );
}

/** A finding's words as a sentence: without the station that it stands at anyway, a capital letter, and a full stop where none stands. */
export function sentence(about: string): string {
  const text = capital(about.replace(/^Station \d+(?: \([^)]*\))?: /, ""));
  return /[.!?]$/.test(text) ? text : `${text}.`;
}
