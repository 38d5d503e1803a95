// Gear: where takes come from, channels, mics, level; the loopback proven; and for a rehearsal what was planted.
#include <fmt/format.h>

#include <algorithm>

#include "app/slip_parts.hpp"
#include "report/figures.hpp"
#include "walk/live_take.hpp"

namespace proofwalk::app {
namespace {

void draw_source(const Stage& stage, Rect rect) {
    State& state = stage.state;
    Settings& settings = state.settings;
    Ink& ink = stage.ink();
    Rect rest = rect;
    static const std::vector<std::string> sources = {"simulated room", "audio device"};
    std::size_t chosen = settings.rehearse ? 0 : 1;
    ink.text_in(cut_top(rest, stage.px(20.0F)), Size::small, stage.paper().faint, "Takes come from");
    if (stage.ui.choice("source", cut_top(rest, stage.px(44.0F)), sources, chosen)) {
        settings.rehearse = chosen == 0;
        state.armed = false;
        stage.desk.refresh(settings);
    }
    cut_top(rest, stage.px(12.0F));
    if (settings.rehearse) {
        double seed = settings.seed, snr = settings.snr_db;
        Rect row = cut_top(rest, stage.px(58.0F));
        if (stage.ui.stepper("seed", cut_left(row, 0.48F * rect.width()), "night (seed)", seed, 1.0, 0.0, 9999.0, "")) settings.seed = static_cast<unsigned>(seed);
        if (stage.ui.stepper("snr", cut_right(row, 0.48F * rect.width()), "signal above noise", snr, 5.0, 0.0, 90.0, "dB")) settings.snr_db = snr;
        cut_top(rest, stage.px(10.0F));
        stage.ui.field("faults", cut_top(rest, stage.px(54.0F)), "planted faults, separated by spaces", settings.faults, "M1:aim-v:-5 FF1:swap:FF2");
        cut_top(rest, stage.px(8.0F));
        ink.wrapped(rest, Size::small, stage.paper().faint, "Kinds: aim-h, aim-v, splay (degrees), spacing (m), delay (ms), gain (dB), polarity, dead-high, dead-low, silent, swap (the other circuit). Another night has other mics, noise and hanging tolerances.");
        return;
    }
    if (!stage.desk.devices() && !state.devices_asked) {
        state.devices_asked = true;
        stage.desk.list_devices();
    }
    Rect head = cut_top(rest, stage.px(40.0F));
    if (stage.ui.button("devices-again", cut_right(head, stage.px(130.0F)), "Look again")) stage.desk.list_devices();
    ink.text_in(head, Size::body, stage.paper().ink, settings.device.empty() ? "No device chosen" : settings.device);
    cut_top(rest, stage.px(6.0F));
    if (!stage.desk.devices()) return;
    const auto& devices = *stage.desk.devices();
    if (devices.empty()) {
        ink.wrapped(rest, Size::body, stage.paper().faint, "No audio device was found on this machine. Plug it in and look again.");
        return;
    }
    ListState& list = state.device_list;
    const auto before = list.selected;
    stage.ui.list("devices", rest, devices.size(), stage.px(44.0F), list, [&](std::size_t i, Rect row, bool) {
        Rect room = row.inset(stage.px(6.0F), stage.px(2.0F));
        ink.text_in(cut_top(room, 0.5F * room.height()), Size::body, stage.paper().ink, devices[i].name);
        ink.text_in(room, Size::small, stage.paper().faint, fmt::format("{}, {} in, {} out, {} Hz", devices[i].host_system, devices[i].inputs, devices[i].outputs, devices[i].rate_hz));
    });
    if (list.selected && list.selected != before) {
        settings.device = devices[*list.selected].name;
        state.armed = false;
    }
}

// The newest proof of each thing, with what the certificates say: what failed first.
void draw_proofs(const Stage& stage, Rect& rest, const std::vector<log::GearRecord>& gear) {
    std::vector<const log::GearRecord*> newest;
    for (auto record = gear.rbegin(); record != gear.rend(); ++record)
        if (std::ranges::none_of(newest, [&](const auto* known) { return known->check == record->check && known->subject == record->subject; })) newest.push_back(&*record);
    const auto verdict = [](const log::GearRecord* record) { return verify::verdict_from_word(record->verdict).value_or(verify::Verdict::open); };
    std::ranges::stable_sort(newest, {}, [&](const auto* record) { return verdict(record) == verify::Verdict::fail ? 0 : verdict(record) == verify::Verdict::pass ? 2 : 1; });
    for (const auto* record : newest)
        draw_proof_line(stage, rest, verdict(record), fmt::format("{}{}: {}", record->check, record->subject.empty() ? "" : " of " + record->subject, record->says.empty() ? record->verdict : record->says));
}

void draw_channels(const Stage& stage, Rect rect) {
    State& state = stage.state;
    Settings& settings = state.settings;
    Ink& ink = stage.ink();
    Rect rest = rect;
    const float half = 0.48F * rect.width(), tall = stage.px(58.0F);
    double mics = settings.mics, reference = settings.reference, level = settings.level_dbfs, length = settings.length_s;
    Rect row = cut_top(rest, tall);
    if (stage.ui.stepper("mics", cut_left(row, half), "mics carried at once", mics, 1.0, 1.0, 31.0, "")) {
        settings.mics = static_cast<int>(mics);
        stage.desk.refresh(settings);
    }
    if (stage.ui.stepper("reference", cut_right(row, half), "loopback on input", reference, 1.0, 1.0, 64.0, "")) settings.reference = static_cast<int>(reference);
    cut_top(rest, stage.px(10.0F));
    row = cut_top(rest, tall);
    if (stage.ui.stepper("level", cut_left(row, half), "level of the signal", level, 1.0, -80.0, -3.0, "dBFS")) settings.level_dbfs = level;
    if (stage.ui.stepper("length", cut_right(row, half), "length of the signal", length, 0.5, 0.5, 30.0, "s", 1)) {
        settings.length_s = length;
        stage.desk.refresh(settings);
    }
    cut_top(rest, stage.px(10.0F));
    row = cut_top(rest, tall);
    double count_in = settings.count_in_s;
    if (stage.ui.stepper("count-in", cut_left(row, half), "count-in of a round", count_in, 1.0, 0.0, 60.0, "s")) settings.count_in_s = count_in;
    static const std::vector<std::string> hands = {"by hand", "by outputs"};
    std::size_t hand = settings.by_hand ? 0 : 1;
    Rect unmuting = cut_right(row, half);
    ink.text_in(cut_top(unmuting, ink.line_height(Size::small)), Size::small, stage.paper().faint, "circuits are unmuted");
    if (stage.ui.choice("unmuting", unmuting, hands, hand)) settings.by_hand = hand == 0;
    cut_top(rest, stage.px(10.0F));
    cut_top(rest, ink.wrapped(rest, Size::small, stage.paper().faint,
                              fmt::format("Mic 1 is on input {}, the others follow. The loopback carries the signal as it leaves the tool: without it no arrival is absolute.", settings.reference + 1)) + stage.px(10.0F));
    const Records& show = *stage.records();
    std::string outputs = "Outputs by the plan: ";
    for (const auto& circuit : show.plan().circuits()) {
        const auto boxes = show.plan().boxes_of(circuit);
        outputs += fmt::format("{} {}, ", circuit, !boxes.empty() && boxes.front()->output ? std::to_string(*boxes.front()->output) : "none");
    }
    cut_top(rest, ink.wrapped(rest, Size::small, stage.paper().ink, outputs.substr(0, outputs.size() - 2)) + stage.px(10.0F));
    draw_proofs(stage, rest, show.gear);
    if (!stage.desk.hung().empty() && settings.rehearse) {
        stage.ui.tick("reveal", cut_top(rest, stage.px(36.0F)), "Reveal what really hangs there", state.reveal);
        if (state.reveal)
            for (const auto& hung : stage.desk.hung()) {
                if (rest.height() < ink.line_height(Size::small)) break;
                ink.text_in(cut_top(rest, ink.line_height(Size::small)), Size::small, stage.paper().ink,
                            fmt::format("{}: pan {}\u00b0, tilt {}\u00b0, {} dB, {} ms{}{}{}", hung.box, report::fixed(hung.pose.pan_deg, 1), report::fixed(hung.pose.tilt_deg, 1), report::fixed(hung.gain_db, 1),
                                        report::fixed(hung.delay_ms, 2), hung.inverted ? ", inverted" : "", hung.dead.empty() ? "" : ", dead " + hung.dead, hung.fed_by.empty() ? "" : ", fed by " + hung.fed_by));
            }
    }
}

}  // namespace

void draw_gear(const Stage& stage, Rect main, Rect actions) {
    if (stage.records() == nullptr) return;
    Rect rest = main;
    const Rect left = cut_left(rest, 0.48F * main.width());
    cut_left(rest, stage.px(28.0F));
    draw_source(stage, left);
    draw_channels(stage, rest);
    Rect strip = actions;
    const bool can_prove = stage.state.settings.rehearse || !stage.state.settings.device.empty();
    const float width = std::min(stage.px(120.0F), 0.25F * (actions.width() - 3.0F * stage.px(8.0F)));
    const auto pressed = [&](std::string_view id, std::string_view label, bool enabled) {
        const bool now = stage.ui.button(id, cut_left(strip, width), label, Weight::normal, enabled);
        cut_left(strip, stage.px(8.0F));
        return now;
    };
    if (pressed("loopback", "Loopback", can_prove)) open_proof(stage, signal::TakeKind::loopback);
    if (pressed("match", "Mic match", can_prove)) open_proof(stage, signal::TakeKind::match);
    if (pressed("calibrator", "Calibrator", can_prove)) open_proof(stage, signal::TakeKind::calibrator);
    if (pressed("certificate", "Certificate", true)) stage.open_slip(Slip::certificate);
    if (strip.width() > stage.px(120.0F))
        stage.ink().wrapped(strip, Size::small, stage.paper().faint, stage.state.settings.rehearse ? "The simulated room's loopback is on input 1, its mics on the inputs after it." : walk::sound_caution());
}

// Until when the certificate of a mic or the calibrator is valid; what ran out withholds every pass.
void draw_certificate_slip(const Stage& stage, Rect whole) {
    State& state = stage.state;
    Rect rest = lay_slip(stage, whole, 620.0F, 380.0F, "Certificate of a mic or calibrator");
    const bool dated = moment_from_text(state.certificate_until + "T00:00:00Z").has_value();
    const bool ready = !state.certificate_of.empty() && state.certificate_of.find('=') == std::string::npos && dated && !state.settings.who.empty();
    const Answer given = slip_answer(stage, rest, "Keep it", ready);
    const float field = stage.px(54.0F), gap = stage.px(8.0F);
    bool entered = stage.ui.field("certificate-of", cut_top(rest, field), "mic or calibrator, with its serial number", state.certificate_of, "m1 0417");
    cut_top(rest, gap);
    entered = stage.ui.field("certificate-until", cut_top(rest, field), dated || state.certificate_until.empty() ? "valid until (year-month-day)" : "no date yet; year-month-day, as 2027-03-01", state.certificate_until, "2027-03-01") || entered;
    cut_top(rest, gap);
    entered = stage.ui.field("certificate-who", cut_top(rest, field), "who read it", state.settings.who) || entered;
    cut_top(rest, gap);
    stage.ink().wrapped(rest, Size::small, stage.paper().faint, "It is kept in the log. One that ran out is a failed proof: while it stands nothing passes.");
    if (given == Answer::yes || (entered && ready)) {
        stage.desk.certify(state.certificate_of, state.certificate_until, state.settings);
        state.certificate_of.clear();
        state.certificate_until.clear();
        state.slip = Slip::none;
    }
    if (given == Answer::no) state.slip = Slip::none;
}

}  // namespace proofwalk::app
