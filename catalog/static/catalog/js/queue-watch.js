// A queue beside its page: how many wait and why, sent again whenever there may be a signal.
const RETRY_MS = 15000;

// `line` runs one work after another; `sent(answers, state)` is told what the archive answered.
export function watch({ queue, say, line, sent }) {
  let state = "";

  const count = async () => {
    const all = await queue.all();
    const mine = all.filter((act) => act.user === queue.user).length;
    say.waiting(mine, all.length - mine, state);
    return mine;
  };
  const askKept = () => queue.ready().then(() => say.kept(queue.kept)).catch(() => {});
  // After a send that somebody else began: the state it ended in.
  const ended = (now) => {
    state = now;
    say.signal(state !== "silent");
    return count();
  };

  async function sendWaiting() {
    if (!(await count())) {
      if (!say.root.dataset.user && navigator.onLine) await queue.ready().then(() => say.signal(true), () => say.signal(false));
      return;
    }
    const answer = await queue.send();
    await sent(answer.answers, answer.state);
    if (answer.answers.length) await askKept();
    await ended(answer.state);
  }

  const again = () => line(sendWaiting);
  say.find("send-now").addEventListener("click", again);
  for (const [target, what] of [[window, "online"], [window, "focus"], [document, "visibilitychange"]]) target.addEventListener(what, again);
  window.addEventListener("offline", () => ended("silent"));
  setInterval(again, RETRY_MS);
  return { again, askKept, ended, sendWaiting };
}
