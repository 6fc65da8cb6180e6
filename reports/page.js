"use strict";
// Draws the packed traces of a report; without it the page shows the still figures.
(function () {
  const INK = { text: "#1D2528", quiet: "#5A686C", rule: "#E3E8E8", signal: "#123A5A", following: "#D9822B", total: "#4FA3A5", hump: "#E9DDBE" };
  const FONT = '"Source Sans 3", "Segoe UI", "Helvetica Neue", Arial, "DejaVu Sans", sans-serif';

  function unpack(packed, step) {
    const bytes = atob(packed.text);
    const out = new Float64Array(packed.count);
    let at = 0, level = 0, number = 0, weight = 1, inRun = false;
    for (let i = 0; i < bytes.length; i++) {
      const byte = bytes.charCodeAt(i);
      number += (byte & 127) * weight;
      if (byte > 127) { weight *= 128; continue; }
      if (inRun) {
        for (let k = 0; k < number; k++) out[at++] = level * step;
        inRun = false;
      } else if (number === 0) {
        inRun = true;
      } else {
        level += number % 2 ? -(number + 1) / 2 : number / 2;
        out[at++] = level * step;
      }
      number = 0; weight = 1;
    }
    return out;
  }

  function times(packed, count) {
    if (packed.text !== undefined) return unpack(packed, packed.step);
    const out = new Float64Array(count);
    for (let i = 0; i < count; i++) out[i] = packed.start + i * packed.interval;
    return out;
  }

  function start(box, trace, decimal) {
    const host = box.querySelector(".plot");
    const readout = box.querySelector(".readout");
    const x = times(trace.time, trace.signal.count);
    const signal = unpack(trace.signal, trace.signal.step);
    const following = unpack(trace.following, trace.following.step);
    const total = unpack(trace.total, trace.total.step);
    const first = x[0], last = x[x.length - 1];
    const shown = { bands: true, ladder: true, following: true, total: true, hump: true };
    let magnified = 1;

    const number = (value, digits) => {
      const text = value.toFixed(digits).replace("-", "\u2212");
      return decimal === "comma" ? text.replace(".", ",") : text;
    };
    const place = (time) => {
      let low = 0, high = x.length - 1;
      while (low < high) { const mid = (low + high) >> 1; if (x[mid] < time) low = mid + 1; else high = mid; }
      return low;
    };
    const inSolvent = (time) => trace.solvent.some((w) => time >= w[0] && time <= w[1]);

    function heights(from, to) {
      let low = Infinity, high = -Infinity;
      const a = Math.max(0, place(from) - 1), b = Math.min(x.length - 1, place(to));
      for (let i = a; i <= b; i++) {
        if (total[i] < low) low = total[i];
        if (signal[i] > high && !inSolvent(x[i])) high = signal[i];
      }
      if (!(high > low)) { low = Math.min(...trace.range); high = Math.max(...trace.range); }
      const span = (high - low) / magnified;
      return [low - 0.05 * span, low + 1.06 * span];
    }

    const marks = (u, draw) => {
      const ctx = u.ctx, box = u.bbox, ratio = devicePixelRatio || 1;
      ctx.save();
      draw(ctx, box, ratio, (time) => u.valToPos(time, "x", true));
      ctx.restore();
    };

    function under(u) {
      marks(u, (ctx, area, ratio, across) => {
        ctx.beginPath();
        ctx.rect(area.left, area.top, area.width, area.height);
        ctx.clip();
        for (const [from, to] of trace.solvent) {
          ctx.fillStyle = "#F0F2F2";
          ctx.fillRect(across(from), area.top, across(to) - across(from), area.height);
        }
        if (shown.bands) {
          for (const [name, from, to, colour] of trace.bands) {
            const left = Math.max(across(from), area.left), right = Math.min(across(to), area.left + area.width);
            if (right <= left) continue;
            ctx.globalAlpha = 0.13;
            ctx.fillStyle = colour;
            ctx.fillRect(left, area.top, right - left, area.height);
            ctx.globalAlpha = 1;
            ctx.fillRect(left, area.top + area.height - 5 * ratio, right - left, 5 * ratio);
            ctx.fillStyle = INK.quiet;
            ctx.font = 12 * ratio + "px " + FONT;
            ctx.textAlign = "center";
            ctx.textBaseline = "top";
            if (ctx.measureText(name).width < right - left - 6 * ratio) ctx.fillText(name, (left + right) / 2, area.top + 5 * ratio);
          }
        }
        if (shown.hump) {
          const a = Math.max(0, place(u.scales.x.min) - 1), b = Math.min(x.length - 1, place(u.scales.x.max) + 1);
          const stride = Math.max(1, Math.floor((b - a) / 1200));
          const up = (value) => u.valToPos(value, "y", true);
          ctx.beginPath();
          for (let i = a; i <= b; i += stride) ctx.lineTo(across(x[i]), up(Math.max(following[i], total[i])));
          for (let i = b; i >= a; i -= stride) ctx.lineTo(across(x[i]), up(total[i]));
          ctx.closePath();
          ctx.fillStyle = INK.hump;
          ctx.fill();
        }
      });
    }

    function over(u) {
      if (!shown.ladder || !trace.ladder.length) return;
      marks(u, (ctx, area, ratio, across) => {
        ctx.strokeStyle = INK.quiet;
        ctx.fillStyle = INK.quiet;
        ctx.lineWidth = ratio;
        ctx.font = 12 * ratio + "px " + FONT;
        ctx.textAlign = "center";
        ctx.textBaseline = "bottom";
        let free = -Infinity;
        for (const [carbon, time] of trace.ladder) {
          const at = across(time);
          if (at < area.left - 1 || at > area.left + area.width + 1) continue;
          ctx.beginPath();
          ctx.moveTo(at, area.top);
          ctx.lineTo(at, area.top - 6 * ratio);
          ctx.stroke();
          const half = ctx.measureText(String(carbon)).width / 2 + 3 * ratio;
          if (at - half > free) { ctx.fillText(String(carbon), at, area.top - 7 * ratio); free = at + half; }
        }
        ctx.textAlign = "left";
        ctx.fillText("n-alkane carbon number", area.left, area.top - 22 * ratio);
      });
    }

    function tell(u) {
      const i = u.cursor.idx;
      if (i === null || i === undefined || u.cursor.left < 0) { readout.textContent = "\u00a0"; return; }
      const parts = [number(x[i], 3) + " min", number(signal[i], trace.digits) + " " + trace.unit];
      const rungs = trace.ladder;
      for (let k = 1; k < rungs.length; k++) {
        if (x[i] >= rungs[k - 1][1] && x[i] < rungs[k][1]) {
          const step = (x[i] - rungs[k - 1][1]) / (rungs[k][1] - rungs[k - 1][1]);
          parts.push("retention index " + number(100 * (rungs[k - 1][0] + step * (rungs[k][0] - rungs[k - 1][0])), 0));
        }
      }
      if (inSolvent(x[i])) parts.push("solvent");
      else for (const [name, from, to] of trace.bands) if (x[i] > from && x[i] <= to) parts.push(name);
      readout.textContent = parts.join("  ·  ");
    }

    const axis = { stroke: INK.text, font: "12px " + FONT, labelFont: "12px " + FONT, grid: { stroke: INK.rule, width: 1 }, ticks: { stroke: INK.quiet, width: 1, size: 5 } };
    const label = (splits) => {
      const step = splits.length > 1 ? Math.abs(splits[1] - splits[0]) : 1;
      const digits = Math.max(0, Math.min(6, -Math.floor(Math.log10(step) + 1e-9)));
      return splits.map((value) => number(value, digits));
    };
    const plot = new uPlot({
      width: host.clientWidth || 800,
      height: 400,
      padding: [40, 12, 0, 0],
      legend: { show: false },
      scales: { x: { time: false }, y: { range: (u) => heights(u.scales.x.min ?? first, u.scales.x.max ?? last) } },
      series: [
        {},
        { stroke: INK.signal, width: 1, points: { show: false } },
        { stroke: INK.following, width: 1.2, dash: [5, 3], points: { show: false } },
        { stroke: INK.total, width: 1.4, points: { show: false } },
      ],
      axes: [
        { ...axis, label: "retention time (min)", labelSize: 24, size: 34, values: (u, splits) => label(splits), grid: { show: false } },
        { ...axis, label: trace.axis, labelSize: 22, size: 56, values: (u, splits) => label(splits) },
      ],
      cursor: {
        points: { show: false },
        y: false,
        drag: { x: true, y: false, setScale: true, dist: 4 },
        bind: {
          mousedown: (u, target, handler) => (event) => {
            if (event.button !== 0) return null;
            if (!event.shiftKey) return handler(event);
            const from = u.scales.x.min, to = u.scales.x.max, begin = event.clientX;
            const perPixel = (to - from) / u.over.clientWidth;
            const move = (e) => look(from - (e.clientX - begin) * perPixel, to - (e.clientX - begin) * perPixel);
            const end = () => { removeEventListener("mousemove", move); removeEventListener("mouseup", end); };
            addEventListener("mousemove", move);
            addEventListener("mouseup", end);
            return null;
          },
          dblclick: () => () => { whole(); return null; },
        },
      },
      hooks: {
        drawClear: [under],
        draw: [over],
        setCursor: [tell],
        setScale: [(u, key) => {
          if (key === "x") { host.dataset.from = String(u.scales.x.min); host.dataset.to = String(u.scales.x.max); }
        }],
      },
    }, [x, signal, following, total], host);

    function look(from, to) {
      const least = Math.min(last - first, 12 * (last - first) / x.length);
      let width = Math.min(last - first, Math.max(least, to - from));
      let left = Math.max(first, Math.min(last - width, (from + to - width) / 2));
      plot.setScale("x", { min: left, max: left + width });
    }
    function whole() { magnified = 1; host.dataset.magnified = "1"; look(first, last); }
    function again() { plot.setScale("x", { min: plot.scales.x.min, max: plot.scales.x.max }); }
    function magnify(factor) {
      magnified = Math.max(1, Math.min(5000, magnified * factor));
      host.dataset.magnified = String(magnified);
      again();
    }
    function zoom(factor, at) {
      const from = plot.scales.x.min, to = plot.scales.x.max, middle = at ?? (from + to) / 2;
      const width = (to - from) * factor, share = (middle - from) / (to - from);
      look(middle - share * width, middle + (1 - share) * width);
    }

    plot.over.addEventListener("wheel", (event) => {
      event.preventDefault();
      const amount = event.deltaY || event.deltaX;
      if (!amount) return;
      if (event.shiftKey) magnify(amount < 0 ? 1.4 : 1 / 1.4);
      else zoom(amount < 0 ? 0.8 : 1.25, plot.posToVal(event.clientX - plot.over.getBoundingClientRect().left, "x"));
    }, { passive: false });
    host.addEventListener("keydown", (event) => {
      const width = plot.scales.x.max - plot.scales.x.min;
      const acts = {
        "+": () => zoom(0.7), "=": () => zoom(0.7), "-": () => zoom(1 / 0.7), "0": whole, Home: whole,
        ArrowLeft: () => look(plot.scales.x.min - 0.15 * width, plot.scales.x.max - 0.15 * width),
        ArrowRight: () => look(plot.scales.x.min + 0.15 * width, plot.scales.x.max + 0.15 * width),
        ArrowUp: () => magnify(1.5), ArrowDown: () => magnify(1 / 1.5),
      };
      if (event.ctrlKey || event.metaKey || event.altKey || !acts[event.key]) return;
      event.preventDefault();
      acts[event.key]();
    });
    for (const button of box.querySelectorAll("button")) {
      const what = button.dataset.show, act = button.dataset.do;
      if (what && ((what === "bands" && !trace.bands.length) || (what === "ladder" && !trace.ladder.length))) button.hidden = true;
      button.addEventListener("click", () => {
        if (act === "whole") whole();
        else if (act === "magnify") magnify(2);
        else if (act === "shrink") magnify(0.5);
        else {
          shown[what] = !shown[what];
          button.setAttribute("aria-pressed", String(shown[what]));
          if (what === "following") plot.setSeries(2, { show: shown[what] });
          else if (what === "total") plot.setSeries(3, { show: shown[what] });
          else plot.redraw(false);
        }
      });
    }
    new ResizeObserver(() => {
      const width = host.clientWidth;
      if (width > 50 && width !== plot.width) plot.setSize({ width, height: 400 });
    }).observe(host);
  }

  addEventListener("beforeprint", () => document.querySelectorAll("#cautions details").forEach((one) => { one.open = true; }));

  const root = document.documentElement;
  try {
    const told = JSON.parse(document.getElementById("traces").textContent);
    root.classList.add("drawing");
    for (const box of document.querySelectorAll(".live")) {
      const trace = told.traces[box.dataset.trace];
      start(box, trace, told.decimal);
    }
    root.dataset.ready = "yes";
  } catch (fault) {
    root.classList.remove("drawing");
    root.dataset.ready = "no";
    console.error(fault);
  }
})();
