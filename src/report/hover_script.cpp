#include "report/hover_script.hpp"


#include "units/sha256.hpp"

namespace proofwalk::report {
namespace {

// data-field: left top right bottom of the field in pixels; data-x and data-y: values at its ends; data-log: x is a
// frequency on a log axis. Values are read off the drawn lines, to a tenth of a pixel.
constexpr std::string_view script = R"js(
"use strict";
for (const svg of document.querySelectorAll("svg[data-field]")) {
  const numbers = name => svg.dataset[name].split(" ").map(Number);
  const [left, top, right, bottom] = numbers("field"), [x0, x1] = numbers("x"), [y0, y1] = numbers("y");
  const log = "log" in svg.dataset, unit = svg.dataset.unit;
  const lines = [...svg.querySelectorAll("[data-name]")].map(path => ({
    name: path.dataset.name,
    points: path.getAttribute("d").slice(1).split(/[L ]/).map(Number).reduce((all, n, i) => (i % 2 ? all[all.length - 1].push(n) : all.push([n]), all), [])
  }));
  const make = (tag, set) => { const e = document.createElementNS(svg.namespaceURI, tag); for (const k in set) e.setAttribute(k, set[k]); svg.append(e); return e; };
  const cursor = make("path", {class: "cursor", visibility: "hidden"});
  const label = make("text", {class: "cursor-text", y: top + 14, visibility: "hidden"});
  const real = n => (n < 0 ? "\u2212" : "") + Math.abs(n).toFixed(1);
  let at = (left + right) / 2;
  const show = () => {
    const x = x0 + (x1 - x0) * (at - left) / (right - left);
    const where = log ? (x => x < 1000 ? x.toFixed(0) + " Hz" : (x / 1000).toFixed(2) + " kHz")(x0 * Math.pow(x1 / x0, (at - left) / (right - left))) : x.toFixed(1) + " " + unit;
    const values = lines.map(line => {
      const p = line.points, n = p.findIndex(q => q[0] >= at);
      if (n < 0 || at < p[0][0] - 1) return "";
      const a = p[Math.max(0, n - 1)], b = p[n], part = b[0] > a[0] ? (at - a[0]) / (b[0] - a[0]) : 0;
      const y = a[1] + part * (b[1] - a[1]);
      return " " + line.name + " " + real(y0 + (y1 - y0) * (bottom - y) / (bottom - top)) + " dB";
    }).join("");
    cursor.setAttribute("d", "M" + at + " " + top + "V" + bottom);
    label.textContent = where + ":" + values;
    const end = at > (left + right) / 2;
    label.setAttribute("x", end ? at - 6 : at + 6);
    label.setAttribute("text-anchor", end ? "end" : "start");
    for (const e of [cursor, label]) e.setAttribute("visibility", "visible");
  };
  const hide = () => { for (const e of [cursor, label]) e.setAttribute("visibility", "hidden"); };
  const move = event => {
    const box = svg.getBoundingClientRect(), x = (event.clientX - box.left) * svg.viewBox.baseVal.width / box.width;
    at = Math.min(right, Math.max(left, x));
    show();
  };
  svg.addEventListener("pointermove", move);
  svg.addEventListener("pointerdown", move);
  svg.addEventListener("pointerleave", hide);
  svg.setAttribute("tabindex", "0");
  svg.addEventListener("blur", hide);
  svg.addEventListener("keydown", event => {
    const step = {ArrowLeft: -1, ArrowRight: 1}[event.key];
    if (!step) return;
    at = Math.min(right, Math.max(left, at + step * (event.shiftKey ? 20 : 4)));
    show();
    event.preventDefault();
  });
}
)js";

std::string base64(const std::string& hex) {
    constexpr std::string_view digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string out;
    unsigned bits = 0;
    int held = 0;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
        bits = (bits << 8) | static_cast<unsigned>(std::stoul(hex.substr(i, 2), nullptr, 16));
        held += 8;
        while (held >= 6) {
            held -= 6;
            out += digits[(bits >> held) & 63u];
        }
    }
    if (held > 0) out += digits[(bits << (6 - held)) & 63u];
    while (out.size() % 4 != 0) out += '=';
    return out;
}

}  // namespace

std::string_view hover_script() { return script; }
std::string hover_script_hash() { return "sha256-" + base64(sha256(script)); }

}  // namespace proofwalk::report
