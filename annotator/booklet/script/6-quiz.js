// @ts-check
/* Check yourself: spots on the stills, yes or no, and what the walk says about each. All questions stand in the page, made from what was accepted. */

/** @typedef {{still: number, at: [number, number], ask: string, yes: boolean, because: string, said: string[]}} Question */

/** @param {HTMLElement} page @param {Still[]} stills @param {() => Question[]} questions @param {Words} words @param {() => void} restore */
function startQuiz(page, stills, questions, words, restore) {
  const open = page.querySelector("button.check");
  if (!(open instanceof HTMLButtonElement)) return { stop() {} };
  const panel = one(page, ".quiz"), asked = one(panel, ".question"), verdict = one(panel, ".verdict"), evidence = one(panel, ".evidence");
  const reply = one(panel, ".reply"), next = one(panel, ".next");
  /** @type {Question[]} */
  let left = [];
  let right = 0, of = 0;

  const ask = () => {
    restore();
    const question = left[0];
    verdict.textContent = evidence.textContent = "";
    delete verdict.dataset.right;
    reply.hidden = !question;
    next.hidden = true;
    if (!question) {
      asked.textContent = words.score.replace("{right}", String(right)).replace("{of}", String(of));
    } else {
      const still = stills[question.still];
      still.point(question.at, false);
      still.figure.append(panel);
      asked.textContent = question.ask;
      still.figure.scrollIntoView({ block: "nearest" });
    }
    asked.focus({ preventScroll: true });
  };
  const answer = (/** @type {boolean} */ yes) => {
    const question = /** @type {Question} */ (left.shift());
    const good = yes === question.yes;
    right += good ? 1 : 0;
    verdict.dataset.right = good ? "yes" : "no";
    verdict.textContent = `${good ? words.right : words.wrong} ${question.because}`;
    for (const text of question.said) {
      const line = document.createElement("p");
      line.dir = "auto";
      line.textContent = text;
      evidence.append(line);
    }
    stills[question.still].point(question.at, true);
    reply.hidden = true;
    next.hidden = false;
    next.textContent = left.length ? words["next-question"] : words["quiz-end"];
    next.focus({ preventScroll: true });
  };
  const stop = () => {
    panel.hidden = true;
    open.hidden = questions().length === 0;
    restore();
  };
  open.addEventListener("click", () => {
    left = [...questions()];
    of = left.length;
    right = 0;
    panel.hidden = false;
    open.hidden = true;
    ask();
  });
  one(panel, ".yes").addEventListener("click", () => answer(true));
  one(panel, ".no").addEventListener("click", () => answer(false));
  next.addEventListener("click", ask);
  one(panel, ".end").addEventListener("click", () => {
    stop();
    open.focus();
  });
  stop();
  return { stop };
}
