// No show is open: choose a plan or a log. A plan is looked at before its log is made.
#include <fmt/format.h>

#include <algorithm>

#include "app/sheets.hpp"

namespace proofwalk::app {
namespace {

namespace fs = std::filesystem;

struct Found {
    fs::path file;
    bool log = false;
};

bool is_plan_name(const fs::path& file) { return file.extension() == ".toml"; }

// What was open lately, then plans and logs of the folder that the typed path names (else the working folder).
std::vector<Found> files_for(const State& state) {
    std::vector<Found> files;
    std::error_code error;
    for (const auto& log : state.settings.recent)
        if (fs::is_regular_file(log, error)) files.push_back({log, true});
    fs::path folder = path_from_typed(state.typed_path);
    if (!fs::is_directory(folder, error)) folder = folder.parent_path();
    if (folder.empty()) folder = ".";
    std::vector<Found> here;
    for (const auto& entry : fs::directory_iterator{folder, fs::directory_options::skip_permission_denied, error}) {
        const fs::path& file = entry.path();
        if (entry.is_directory(error)) {
            if (!file.filename().string().starts_with(".")) here.push_back({file, false});
        } else if (is_plan_name(file)) {
            here.push_back({file, false});
        } else if (file.extension() == ".db" && is_log(file)) {
            here.push_back({file, true});
        }
        if (here.size() > 2000) break;
    }
    std::ranges::sort(here, {}, &Found::file);
    files.insert(files.end(), here.begin(), here.end());
    return files;
}

void draw_files(const Stage& stage, Rect rect) {
    State& state = stage.state;
    Ink& ink = stage.ink();
    if (state.listed_path != state.typed_path || state.listed.empty()) {
        state.listed.clear();
        for (const auto& found : files_for(state)) state.listed.push_back({found.file, found.log});
        state.listed_path = state.typed_path;
    }
    const bool chosen = stage.ui.list("files", rect, state.listed.size(), stage.px(36.0F), state.files_list, [&](std::size_t i, Rect row, bool) {
        const auto& [file, log] = state.listed[i];
        Rect room = row.inset(stage.px(8.0F), 0.0F);
        const Rect kind = cut_left(room, stage.px(64.0F));
        ink.text_in(kind, Size::small, stage.paper().faint, log ? "log" : is_plan_name(file) ? "plan" : "folder");
        ink.text_in(room, Size::body, stage.paper().ink, file.string());
        ink.line({row.min.x, row.max.y}, row.max, with_alpha(stage.paper().hairline, 140));
    });
    if (chosen && state.files_list.selected) {
        const fs::path file = state.listed[*state.files_list.selected].first;
        std::error_code ignored;
        if (fs::is_directory(file, ignored))
            state.typed_path = file.string() + "/";
        else
            stage.desk.open(file, state.settings);
    }
}

void draw_plan_waiting(const Stage& stage, Rect rect) {
    State& state = stage.state;
    Ink& ink = stage.ink();
    const plan::PlanFile& file = *stage.desk.waiting_plan_file();
    const fs::path path = *stage.desk.waiting_plan();
    Rect rest = rect;
    cut_top(rest, ink.wrapped(rest, Size::huge, stage.paper().ink, file.plan.name) + stage.px(6.0F));
    const auto checks = plan::checks(file.plan);
    cut_top(rest, ink.wrapped(rest, Size::body, stage.paper().ink, fmt::format("{} boxes on {} circuits, {} positions, {} checks. The plan is sound{}.", file.plan.boxes.size(), file.plan.circuits().size(), file.plan.positions.size(), checks.size(),
                                                                                 file.warnings.empty() ? "" : fmt::format("; {} warnings", file.warnings.size()))) + stage.px(6.0F));
    for (const auto& warning : file.warnings) {
        if (rest.height() < 0.5F * rect.height()) break;
        cut_top(rest, ink.wrapped(rest, Size::small, stage.paper().faint, warning));
    }
    cut_top(rest, stage.px(12.0F));
    const float tall = stage.px(64.0F);
    if (state.offered != path) stage.ui.focus("rehearse");  // Enter goes on
    state.offered = path;
    const auto choice = [&](std::string_view id, bool rehearse, std::string_view label, const std::string& words) {
        Rect row = cut_top(rest, tall);
        const fs::path log = log_for_plan(path, rehearse);
        if (stage.ui.button(id, cut_left(row, std::min(stage.px(280.0F), 0.5F * rect.width())), label, Weight::main)) {
            state.settings.rehearse = rehearse;
            state.armed = false;
            state.step.reset();
            stage.desk.begin(path, log, state.settings);
        }
        cut_left(row, stage.px(14.0F));
        std::error_code ignored;
        ink.wrapped(row, Size::small, stage.paper().faint, fmt::format("{} {} {}.", words, fs::exists(log, ignored) ? "Goes on with" : "Makes", log.string()));
        cut_top(rest, stage.px(12.0F));
    };
    choice("rehearse", true, "Rehearse it", "The same walk in a simulated room, no sound plays.");
    choice("walk", false, "Walk it", "With an audio device and mics, on site.");
}

}  // namespace

void draw_open(const Stage& stage, Rect main) {
    State& state = stage.state;
    Rect rest = main;
    if (stage.desk.waiting_plan_file()) {
        Rect head = cut_top(rest, stage.px(44.0F));
        if (stage.ui.button("other-file", cut_right(head, stage.px(170.0F)), "Another file")) stage.desk.forget_plan();
        draw_plan_waiting(stage, rest);
        return;
    }
    state.offered.clear();
    stage.ink().text_in(cut_top(rest, stage.px(44.0F)), Size::huge, stage.paper().ink, "Open a plan or a log");
    cut_top(rest, stage.px(6.0F));
    Rect line = cut_top(rest, stage.px(58.0F));
    const Rect go = cut_right(line, stage.px(110.0F));
    cut_right(line, stage.px(10.0F));
    const bool entered = stage.ui.field("path", line, "file or folder", state.typed_path, "hall.toml");
    Rect press = go;
    cut_top(press, stage.ink().line_height(Size::small));
    if ((stage.ui.button("open", press, "Open", Weight::normal, !state.typed_path.empty()) || entered) && !state.typed_path.empty()) stage.desk.open(path_from_typed(state.typed_path), state.settings);
    cut_top(rest, stage.px(10.0F));
    draw_files(stage, rest);
}

}  // namespace proofwalk::app
