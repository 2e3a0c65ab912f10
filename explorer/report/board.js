// The board of the local page: moves by click, drag and key. The page has links for all of it.
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const PIECES = { K: "King", Q: "Queen", R: "Rook", B: "Bishop", N: "Knight", P: "Pawn" };
  const MEMORY = "replybook-line";
  const one = (found) => document.querySelector(found);
  const every = (found) => [...document.querySelectorAll(found)];
  const figure = one("#board");
  const answers = one("#answers");

  function say(text) {
    const place = one("#said");
    if (place) place.textContent = text;
  }

  // From square -> to square -> the links of the moves; several where a pawn promotes.
  function legalMoves() {
    const moves = new Map();
    for (const link of every(".moves a[data-uci]")) {
      const from = link.dataset.uci.slice(0, 2), to = link.dataset.uci.slice(2, 4);
      if (!moves.has(from)) moves.set(from, new Map());
      const there = moves.get(from);
      there.set(to, [...(there.get(to) || []), link]);
    }
    return moves;
  }

  function follow(links) {
    if (links.length === 1) location.assign(links[0].href);
    else choosePromotion(links);
  }

  function choosePromotion(links) {
    const box = document.createElement("dialog");
    box.className = "promotion";
    box.setAttribute("aria-label", "Promote to");
    const said = document.createElement("p");
    said.textContent = "Promote to";
    box.append(said);
    for (const kind of "QRBN") {
      const link = links.find((any) => any.dataset.uci[4] === kind.toLowerCase());
      const choice = document.createElement("a");
      choice.href = link.href;
      choice.textContent = PIECES[kind];
      box.append(choice);
    }
    box.addEventListener("close", () => box.remove());
    document.body.append(box);
    box.showModal();
  }

  function makeMovable(svg) {
    const [left, top, side] = figure.dataset.measures.split(" ").map(Number);
    const black = figure.dataset.view === "black";
    const moves = legalMoves();
    let chosen = null, held = null, marks = null;

    const corner = (square) => {
      const file = square.charCodeAt(0) - 97, rank = Number(square[1]) - 1;
      return [left + side * (black ? 7 - file : file), top + side * (black ? rank : 7 - rank)];
    };
    const placeOf = (event) =>
      new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const squareAt = (point) => {
      const column = Math.floor((point.x - left) / side), row = Math.floor((point.y - top) / side);
      if (column < 0 || column > 7 || row < 0 || row > 7) return null;
      return "abcdefgh"[black ? 7 - column : column] + (black ? row + 1 : 8 - row);
    };
    const pieceOn = (square) => {
      const [x, y] = corner(square);
      return [...svg.querySelectorAll("use")].find(
        (use) => Number(use.getAttribute("x")) === x && Number(use.getAttribute("y")) === y);
    };
    const drop = (use, x, y) => {
      use.setAttribute("x", x);
      use.setAttribute("y", y);
    };
    const frame = (square, kind) => {
      const [x, y] = corner(square), box = document.createElementNS(SVG, "rect");
      box.setAttribute("class", kind);
      for (const [name, value] of [["x", x + 3], ["y", y + 3], ["width", side - 6], ["height", side - 6]]) {
        box.setAttribute(name, value);
      }
      return box;
    };

    function unchoose() {
      if (marks) marks.remove();
      chosen = marks = null;
    }

    function choose(square) {
      unchoose();
      chosen = square;
      const targets = [...moves.get(square).keys()].sort();
      marks = document.createElementNS(SVG, "g");
      marks.append(frame(square, "chosen"), ...targets.map((to) => frame(to, "target")));
      svg.append(marks);
      const piece = PIECES[pieceOn(square).getAttribute("href").slice(-1)];
      say(`${piece} on ${square}: to ${targets.join(", ")}.`);
    }

    function moveTo(square) {
      const from = chosen, links = moves.get(from).get(square);
      unchoose();
      if (links) follow(links);
      else say(`${from} to ${square} is not a legal move.`);
      return Boolean(links);
    }

    function letGo() {
      if (held) drop(held.use, ...corner(held.from));
      held = null;
      svg.classList.remove("holding");
    }

    svg.addEventListener("pointerdown", (event) => {
      const point = placeOf(event), square = squareAt(point);
      if (event.button !== 0 || !square) return;
      event.preventDefault();
      if (chosen && square !== chosen && moves.get(chosen).has(square)) {
        moveTo(square);
      } else if (moves.has(square)) {
        const again = square === chosen;
        choose(square);
        if (event.pointerType === "touch") return;
        held = { from: square, use: pieceOn(square), again, moved: false };
        svg.append(held.use);  // above the others
        svg.setPointerCapture(event.pointerId);
      } else if (chosen) {
        moveTo(square);
      } else {
        say("There is nothing to move.");
      }
    });

    svg.addEventListener("pointermove", (event) => {
      const point = placeOf(event);
      if (held) {
        if (squareAt(point) !== held.from) held.moved = true;
        svg.classList.add("holding");
        drop(held.use, point.x - side / 2, point.y - side / 2);
      } else {
        const square = squareAt(point);
        const hot = square && (moves.has(square) || (chosen && moves.get(chosen).has(square)));
        svg.classList.toggle("movable", Boolean(hot));
      }
    });

    svg.addEventListener("pointerup", (event) => {
      if (!held) return;
      const { from, again, moved } = held, square = squareAt(placeOf(event));
      letGo();
      if (square === from) {
        if (again || moved) unchoose();
      } else if (square) {
        moveTo(square);
      } else {
        unchoose();
      }
    });

    svg.addEventListener("pointercancel", letGo);
    document.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        letGo();
        unchoose();
      }
    });
  }

  // The line that was gone back from is remembered, so that one can go forth again.
  function lineAhead() {
    const here = new URL(location.href), fen = here.searchParams.get("fen") || "";
    const line = here.searchParams.get("line") || "";
    let known = null;
    try {
      known = JSON.parse(sessionStorage.getItem(MEMORY));
    } catch {
      known = null;
    }
    const begins = line === "" ? "" : `${line} `;
    if (!known || known.fen !== fen || !`${known.line} `.startsWith(begins)) {
      known = { fen, line };
      try {
        sessionStorage.setItem(MEMORY, JSON.stringify(known));
      } catch {
        // A browser that keeps nothing for pages does not go forth again.
      }
    }
    const next = known.line.slice(begins.length).split(" ")[0];
    if (!next || known.line === line) return null;
    here.searchParams.set("line", begins + next);
    return here.href;
  }

  function step(forth, ahead) {
    const link = one(forth ? "a[rel=next]" : "a[rel=prev]") || (forth ? null : every(".crumbs a").pop());
    const there = link ? link.href : forth ? ahead : null;
    if (there) location.assign(there);
    else say(forth ? "The line ends here." : "This is where the line begins.");
  }

  function onKey(event, ahead) {
    const at = event.target;
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return;
    if (at.closest("input, select, textarea, dialog, .table, #chart")) return;
    if (event.key === "ArrowLeft" || event.key === "ArrowRight") {
      if (!one(".crumbs, a[rel=next], a[rel=prev]") && !ahead) return;
      event.preventDefault();
      step(event.key === "ArrowRight", ahead);
    } else if (answers) {
      const typed = event.key.length === 1 || ["Enter", "PageDown", "ArrowDown"].includes(event.key);
      const own = at.closest("a, button, summary") && [" ", "Enter"].includes(event.key);
      if (event.key === "Escape" || event.key === "PageUp") answers.open = false;
      else if (typed && !own) {
        event.preventDefault();
        answers.open = true;
      }
    } else if (/^[a-hA-H1KQRNO0]$/.test(event.key)) {
      const box = one("#go-go");
      if (box) box.focus();  // the letter then goes into it
    }
  }

  function offerCopies() {
    const line = every(".crumbs li").slice(1).map((item) => item.textContent.trim()).join(" ");
    const texts = { fen: (one("#fen") || {}).textContent, line: line.replaceAll("\u00a0", " ") };
    for (const button of every("button[data-copies]")) {
      const what = button.dataset.copies;
      if (!texts[what] || !navigator.clipboard) continue;
      button.closest("li").hidden = false;
      button.addEventListener("click", async () => {
        try {
          await navigator.clipboard.writeText(texts[what]);
          say(`Copied: ${texts[what]}`);
        } catch {
          say(`The browser does not let pages copy. ${texts[what]}`);
        }
      });
    }
  }

  const svg = figure && figure.querySelector("svg.diagram");
  const ahead = one(".moves") ? lineAhead() : null;
  if (svg && one(".moves a[data-uci]")) makeMovable(svg);
  offerCopies();
  for (const hint of every("[data-scripted]")) hint.hidden = false;
  document.addEventListener("keydown", (event) => onKey(event, ahead));
  if (answers) {
    answers.addEventListener("toggle", () => {
      const told = [...answers.querySelectorAll("li")].map((item) => item.textContent.trim());
      say(answers.open ? told.join("; ").replace(/\s+/g, " ") : "");
    });
  }
})();
