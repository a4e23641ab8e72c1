// The command that gives the same as a part of the page, from the saved sheet and logs.
import { h, replace, say, press } from "./dom.js";

const mostNamed = 12; // logs that a command on the page names; a copy names all

/** asCommand is a line with the command; words() are its name and flags, "" for none now;
 *  bare is set where it takes neither sheet nor logs. */
export function asCommand(ctx, words, id, bare) {
  const code = h("code", {});
  const el = h("p", { class: "line as-command", id }, h("b", {}, "As a command"), code, " ", press("copy", async () => {
    try { await navigator.clipboard.writeText(`fromrest ${words()}${bare ? "" : ctx.view.call.tail}`); say("The command is on the clipboard; save the sheet as session.toml beside the logs."); } catch { say("The browser does not allow copying here; select it by hand.", true); }
  }));
  const show = () => {
    const v = ctx.view, text = words();
    el.hidden = !(bare || v.logs.length) || !text;
    replace(code, `fromrest ${text}` + (bare ? "" : v.logs.length > mostNamed ? `${v.call.short} … and the ${v.logs.length} logs` : v.call.tail));
  };
  ctx.commands.push(show);
  return el;
}

/** word is a text as a shell takes it for one word. */
export const word = (t) => (/^[\w./#+:@%][\w./#+:@%-]*$/.test(t) ? t : `'${t.replaceAll("'", "'\\''")}'`);
