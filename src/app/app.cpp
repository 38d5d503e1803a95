#include "app/app.hpp"

#include <fmt/format.h>
#include <imgui.h>

#include <cmath>

#include "report/figures.hpp"

namespace proofwalk::app {
namespace {

struct SheetName {
    Sheet sheet;
    Act act;
    const char* name;
    void (*draw)(const Stage&, Rect, Rect);
};
constexpr std::array<SheetName, sheet_count> sheets = {{
    {Sheet::next, Act::sheet_1, "Next", draw_next},
    {Sheet::room, Act::sheet_2, "Room", draw_room},
    {Sheet::take, Act::sheet_3, "Take", draw_take},
    {Sheet::curves, Act::sheet_4, "Curves", draw_curves},
    {Sheet::tally, Act::sheet_5, "Tally", draw_tally},
    {Sheet::sign, Act::sheet_6, "Sign", draw_sign},
    {Sheet::look_back, Act::sheet_7, "Look back", draw_look_back},
    {Sheet::design, Act::sheet_8, "Design", draw_design},
    {Sheet::gear, Act::sheet_9, "Gear", draw_gear},
}};

// Type grows with the window in quarter steps: a 13-inch screen is read at arm's length.
constexpr float design_width = 1280.0F, design_height = 800.0F;

}  // namespace

App::App(Fonts& fonts, AppOptions options)
    : fonts_(&fonts), options_(std::move(options)), ink_(fonts, app::paper(PaperKind::hall), 1.0F), ui_(ink_, keys_, *options_.shelf), desk_(options_.wake) {
    if (!options_.settings_file.empty()) state_.settings = load_settings(options_.settings_file);
    saved_ = to_text(state_.settings);
    if (!options_.keys_file.empty())
        for (const auto& fault : keys_.load(options_.keys_file)) desk_.note(sentence(fault), true);
    state_.sheet = static_cast<Sheet>(std::min(state_.settings.sheet, sheet_count - 1));
    std::error_code ignored;
    if (options_.file)
        desk_.open(*options_.file, state_.settings);
    else if (!state_.settings.last_log.empty() && std::filesystem::exists(state_.settings.last_log, ignored))
        desk_.open(state_.settings.last_log, state_.settings);
}

App::~App() { save(); }

const Paper& App::paper() const { return app::paper(state_.settings.paper); }

float App::scale_for(float width, float height, float screen_scale) const {
    const float room = std::floor(4.0F * std::min(width / design_width, height / design_height)) / 4.0F;
    return std::clamp(std::max(screen_scale, room), 1.0F, 4.0F) * static_cast<float>(state_.settings.larger);
}

void App::drop(const std::filesystem::path& file) {
    if (file.extension() == ".toml" || is_log(file)) {
        desk_.open(file, state_.settings);
        if (desk_.records() && !is_log(file)) state_.slip = Slip::open;  // there a plan is looked at first
    } else {
        open_note({ui_, state_, desk_}, file.string());
    }
}

void App::save() {
    if (options_.settings_file.empty()) return;
    state_.settings.sheet = static_cast<std::size_t>(state_.sheet);
    const std::string text = to_text(state_.settings);
    if (text == saved_) return;
    saved_ = text;
    if (auto done = save_settings(state_.settings, options_.settings_file); !done) desk_.note(sentence(done.error()), true);
}

void App::take_keys(const Stage& stage) {
    for (const auto& sheet : sheets)
        if (ui_.asked(sheet.act)) state_.sheet = sheet.sheet;
    if (ui_.asked(Act::paper)) state_.settings.paper = next_paper(state_.settings.paper);
    if (ui_.asked(Act::larger)) state_.settings.larger = std::min(2.5, state_.settings.larger * 1.1);
    if (ui_.asked(Act::smaller)) state_.settings.larger = std::max(0.6, state_.settings.larger / 1.1);
    if (ui_.asked(Act::open)) stage.open_slip(Slip::open);
    if (ui_.asked(Act::keys)) stage.open_slip(Slip::keys);
    if (ui_.asked(Act::changed)) {
        state_.changed_subject = state_.check ? state_.check->subject : state_.box;
        stage.open_slip(Slip::change);
    }
    if (ui_.asked(Act::report) && stage.records() != nullptr) desk_.write_report();
    if (ui_.asked(Act::note)) open_note(stage);
    if (ui_.asked(Act::audit) && stage.records() != nullptr) stage.open_slip(Slip::audit);
}

void App::draw_index(const Stage& stage, Rect rect) {
    Rect rest = rect;
    Rect right = cut_right(rest, std::min(stage.px(190.0F), 0.2F * rect.width()));
    const float each = rest.width() / static_cast<float>(sheets.size());
    for (std::size_t i = 0; i < sheets.size(); ++i) {
        const Rect cell = cut_left(rest, each);
        const bool here = state_.sheet == sheets[i].sheet;
        const std::string label = each > stage.px(92.0F) ? fmt::format("{} {}", i + 1, sheets[i].name) : sheets[i].name;
        if (ui_.hovered(cell)) ink_.fill(cell.inset(stage.px(2.0F)), paper().selected);
        ink_.text_centred(cell.inset(stage.px(2.0F), 0.0F), Size::body, here ? paper().ink : paper().faint, label);
        if (here) ink_.line({cell.min.x + stage.px(6.0F), cell.max.y - stage.px(2.0F)}, {cell.max.x - stage.px(6.0F), cell.max.y - stage.px(2.0F)}, paper().ink, 3.0F);
        if (ui_.region(fmt::format("sheet-{}", i + 1), cell)) state_.sheet = sheets[i].sheet;
    }
    const Rect open = cut_left(right, 0.5F * right.width());
    if (ui_.button("open-file", open.inset(stage.px(2.0F)), "Open", Weight::quiet)) stage.open_slip(Slip::open);
    if (ui_.button("paper", right.inset(stage.px(2.0F)), right.width() > stage.px(84.0F) ? fmt::format("{} paper", word(state_.settings.paper)) : std::string{word(state_.settings.paper)}, Weight::quiet)) state_.settings.paper = next_paper(state_.settings.paper);
}

void App::draw_notices(const Stage& stage, Rect rect) {
    Rect rest = rect;
    if (const auto running = desk_.running()) {
        Rect room = desk_.notices().empty() ? rest : cut_left(rest, 0.3F * rect.width());
        const std::string share = running->whole > 0.0 ? fmt::format(", {} %", report::fixed(100.0 * std::min(1.0, running->done / running->whole), 0)) : "";
        ink_.text_in(room, Size::small, paper().faint, fmt::format("{}{}; {} stops it", running->what, share, keys_.shown(Act::stop)));
    }
    if (desk_.notices().empty()) return;
    const Notice& newest = desk_.notices().front();
    const Rect away = cut_right(rest, stage.px(84.0F));
    if (newest.fault) ink_.mark({rest.min.x + stage.px(8.0F), rest.centre().y}, stage.px(5.0F), verify::Verdict::fail);
    cut_left(rest, stage.px(newest.fault ? 20.0F : 0.0F));
    const std::string more = desk_.notices().size() > 1 ? fmt::format(" ({} more)", desk_.notices().size() - 1) : "";
    const bool two_lines = rest.height() >= 2.0F * ink_.line_height(Size::small);
    if (two_lines) ink_.wrapped(rest, Size::small, paper().ink, newest.text + more);
    else ink_.text_in(rest, Size::small, paper().ink, newest.text + more);
    if (ui_.button("notice-read", away, "Read", Weight::quiet)) desk_.drop_notices();
}

void App::frame(std::optional<KeyStroke> stroke, float width, float height) {
    desk_.deliver();
    if (desk_.records() != seen_) {
        seen_ = desk_.records();
        if (seen_ && seen_->log_file != state_.settings.last_log) {
            remember(state_.settings, seen_->log_file);
            state_.armed = false;
            state_.step.reset();
            state_.check.reset();
            state_.box.clear();
            state_.accepted.clear();
            state_.slip = Slip::none;
            // A log that began as a rehearsal stays one: a simulated take never stands among real ones.
            if (seen_->takes > 0) state_.settings.rehearse = seen_->page.rehearsed;
        }
    }
    ink_ = Ink{*fonts_, paper(), fonts_->scale()};
    ImGui::SetNextWindowPos({0.0F, 0.0F});
    ImGui::SetNextWindowSize({width, height});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0.0F, 0.0F});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
    // The ground is what the frame is cleared to: filling it again would cost a software renderer more than all that stands on it.
    ImGui::Begin("sheet", nullptr, ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_NoNav | ImGuiWindowFlags_NoScrollWithMouse);
    ink_.onto(ImGui::GetWindowDrawList());
    ui_.begin(ink_, keys_, stroke);
    const Stage stage{ui_, state_, desk_};
    const Rect whole{{0.0F, 0.0F}, {width, height}};
    if (desk_.question() && state_.slip != Slip::question) {
        state_.slip_below = state_.slip;
        stage.open_slip(Slip::question);
    }
    ui_.set_live(state_.slip == Slip::none);
    const Slip slip = state_.slip;

    const bool small = width < stage.px(1000.0F) || height < stage.px(620.0F);
    Rect sheet = whole.inset(stage.px(small ? 4.0F : 10.0F));
    ink_.frame(sheet, paper().ink, 1.5F);
    Rect rest = sheet.inset(stage.px(small ? 6.0F : 12.0F), 0.0F);
    Rect index = cut_top(rest, stage.px(44.0F));
    ink_.line({sheet.min.x, index.max.y}, {sheet.max.x, index.max.y}, paper().hairline);
    Rect foot = cut_bottom(rest, stage.px(small ? 64.0F : 118.0F));
    Rect title = cut_right(foot, small ? 0.46F * foot.width() : std::min(stage.px(560.0F), 0.46F * foot.width()));
    title.max = {sheet.max.x, sheet.max.y};
    cut_right(foot, stage.px(14.0F));
    const bool has_notice = !desk_.notices().empty() || desk_.running().has_value();
    if (has_notice) draw_notices(stage, cut_bottom(rest, stage.px(24.0F)));
    const Rect main = rest.inset(0.0F, stage.px(8.0F));
    Rect actions = foot.inset(0.0F, stage.px(small ? 6.0F : 12.0F));
    actions.max.y = std::min(actions.max.y, actions.min.y + stage.px(72.0F));

    const Sheet before = state_.sheet;
    if (stage.records() == nullptr)
        draw_open(stage, main);
    else
        sheets[static_cast<std::size_t>(state_.sheet)].draw(stage, main, actions);
    draw_title_block(stage, title, small);
    draw_index(stage, index);  // last: Tab comes to the sheet's own widgets first
    take_keys(stage);
    if (state_.sheet != before) {
        if (slip == Slip::none) ui_.leave();
        desk_.drop_good_news();  // read by now; what went wrong stays until somebody says so
    }
    if (ui_.asked(Act::stop) || ui_.escape()) {
        if (desk_.running()) desk_.stop();
        else desk_.drop_notices();
    }
    if (slip != Slip::none) {
        ui_.set_live(true);
        draw_slip(stage, whole);
    }
    ui_.end();
    ImGui::End();
    ImGui::PopStyleVar(2);
    save();
}

}  // namespace proofwalk::app
