// What the person does, from the screen's side: each action is a job of the worker and ends in new records, cards or a
// notice. Nothing here waits.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "app/photo.hpp"
#include "app/plot.hpp"
#include "app/records.hpp"
#include "app/settings.hpp"
#include "app/worker.hpp"
#include "capture/device.hpp"
#include "log/audit.hpp"
#include "plan/place.hpp"
#include "walk/decisions.hpp"
#include "walk/desk_estimates.hpp"
#include "walk/gear_take.hpp"
#include "verify/explain.hpp"
#include "verify/predict.hpp"
#include "walk/look_back.hpp"
#include "walk/run_sequence.hpp"

namespace proofwalk::app {

// The joint prediction grows with the cube of the boxes and can't be stopped half way: larger plans go without it.
inline constexpr std::size_t most_boxes_predicted = 48;

struct Notice {
    std::string text;
    bool fault = false;
};

// A take as it runs: written by the worker, copied by the screen.
struct TakeView {
    enum class Phase { none, capturing, storing, judging };
    Phase phase = Phase::none;
    std::size_t step = 0;
    std::string circuit;
    std::vector<std::string> positions;
    double done_s = 0.0, whole_s = 0.0;
    std::vector<float> peak;      // newest, per mic, full scale 1.0
    std::vector<float> highest;   // since the take began
    float reference_peak = 0.0F;
    struct Run {  // takes one after another
        walk::SequencePhase phase = walk::SequencePhase::over;
        std::size_t at = 0, count = 0;
        double count_in_left_s = 0.0;
        std::string says;
    };
    std::optional<Run> run;
};

struct CurveAsk {
    std::string circuit, position;
    double smoothing = walk::usual_smoothing;
    friend auto operator<=>(const CurveAsk&, const CurveAsk&) = default;
};

// An estimate asked of a draft, known by its text.
struct EstimateAsk {
    std::string box, text;
    walk::DeskQuestion question = walk::DeskQuestion::vertical_aim;
    std::string area, partner;
    friend bool operator==(const EstimateAsk&, const EstimateAsk&) = default;
};
struct DeskEstimate {
    EstimateAsk ask;
    Result<walk::DeskAnswer> answer;
};
// Mic places worked out for a draft.
struct PlacedMics {
    std::string text;
    plan::Placement placement;
};

// Something to write down, with or without a file.
struct Remark {
    std::string about, text;
    std::filesystem::path file;  // empty: none
    bool incident = false;
};
// What an audit found, and when.
struct Audited {
    Result<log::Audit> found;
    bool recordings = false;  // read too
    Moment when;
};

class Desk {
public:
    explicit Desk(std::function<void()> wake);
    ~Desk();  // what plays fades, what waits for an answer gets a no
    Desk(const Desk&) = delete;
    Desk& operator=(const Desk&) = delete;

    // A log is opened; a plan waits for begin(), which makes its log or goes on with it.
    void open(const std::filesystem::path& file, const Settings& settings);
    void begin(const std::filesystem::path& plan, const std::filesystem::path& log, const Settings& settings);
    void take(std::size_t step, const Settings& settings);
    // What is left of the step's round from there on, one take after another with a count-in.
    void take_round(std::size_t step, const Settings& settings);
    void press(walk::SequenceKey key) { control_.press(key); }
    // Asked by a take before it plays loud where people may stand; it waits for the answer.
    [[nodiscard]] std::optional<std::string> question() const;
    void answer(bool yes);
    [[nodiscard]] const std::string& exposure() const { return exposure_; }
    // From the last sample of the newest take: until it was measured and durable, until its cards were on the screen, until
    // they said what it means. 0 while that is to come.
    struct CardsAfter {
        double stored_ms = 0.0, shown_ms = 0.0, judged_ms = 0.0;
    };
    [[nodiscard]] const std::optional<CardsAfter>& cards_after() const { return cards_after_; }
    // A loopback, match or calibrator take, and what the newest one said until the next is asked for.
    void prove(const walk::GearTake& asked, const Settings& settings);
    struct Proof {
        signal::TakeKind kind = signal::TakeKind::loopback;
        std::vector<verify::GearCheck> checks;  // none where it failed
        std::string says;                       // its name in the log, or why there is none
    };
    [[nodiscard]] const std::optional<Proof>& proof() const { return proof_; }
    void forget_proof() { proof_.reset(); }
    void skip(const std::vector<walk::CheckName>& checks, const std::string& why, const Settings& settings);
    void take_up(const walk::CheckName& check, const Settings& settings);  // a skip of it no longer stands
    void change(const std::string& subject, const std::string& what, const Settings& settings);
    void sign(const std::vector<std::string>& exceptions, const std::vector<std::string>& scope, const Settings& settings);
    void write_report();
    void keep(const Remark& remark, const Settings& settings);  // at once, even while takes run
    // A photo of the log, to be looked at; decoded beside the screen.
    struct Photo {
        std::string sha256;
        std::optional<Result<Pixels>> found;  // absent until it was read
    };
    void look_at(const std::string& sha256, const std::string& name);
    void forget_photo() { photo_ = {}; }
    [[nodiscard]] const Photo& photo() const { return photo_; }
    void audit(const std::string& against, bool recordings);
    [[nodiscard]] const std::optional<Audited>& audited() const { return audited_; }
    void certify(const std::string& subject, const std::string& until, const Settings& settings);
    void predict(const plan::Plan& plan, const std::string& text);  // how sure each check could be; `text` names the draft
    void save_plan(const std::string& text, const Settings& settings);  // as a file and as the log's next revision
    [[nodiscard]] std::filesystem::path plan_file_to_write() const;
    // Null until it is worked out.
    [[nodiscard]] const DeskEstimate* estimate(const EstimateAsk& ask, const plan::Plan& plan);
    void place_mics(const plan::Plan& plan, const std::string& text, bool keep_all);
    [[nodiscard]] std::optional<PlacedMics> take_placed() { return std::exchange(placed_, std::nullopt); }
    void refresh(const Settings& settings);  // after a setting that the path depends on
    void list_devices();
    void look_back(const std::vector<std::filesystem::path>& logs);
    // Why a check came out as it did; null until it is worked out again from the evidence.
    [[nodiscard]] const verify::Explanation* explanation(const walk::CheckName& check);
    // Curves of a circuit at a position; null until they are there.
    [[nodiscard]] std::shared_ptr<const std::vector<walk::HeardCurve>> curves(const CurveAsk& ask);
    // SVG and CSV of each beside the log, in NAME.curves/; the window adds the picture.
    void export_plots(const std::vector<Plot>& plots, const std::string& name, PaperKind kind);
    void stop();

    bool deliver();  // screen's thread, once a frame; true when something is new
    [[nodiscard]] bool busy() const { return !worker_.idle() || !aside_.idle(); }
    [[nodiscard]] std::optional<Worker::Running> running() const { return worker_.running(); }

    [[nodiscard]] const RecordsPtr& records() const { return records_; }
    [[nodiscard]] TakeView take_view() const;
    [[nodiscard]] const std::vector<Card>& cards() const { return cards_; }
    [[nodiscard]] const std::deque<Notice>& notices() const { return notices_; }
    void note(std::string text, bool fault = false);
    void forget_plan() { waiting_plan_.reset(), waiting_plan_file_.reset(); }
    void drop_notices() { notices_.clear(); }
    void drop_good_news() { std::erase_if(notices_, [](const Notice& notice) { return !notice.fault; }); }
    [[nodiscard]] const std::optional<std::filesystem::path>& waiting_plan() const { return waiting_plan_; }
    [[nodiscard]] const std::optional<plan::PlanFile>& waiting_plan_file() const { return waiting_plan_file_; }
    // A picture of the sheet that is wanted beside exported curves; taken by the window after the next frame.
    [[nodiscard]] std::optional<std::filesystem::path> take_picture_wish() { return std::exchange(picture_wish_, std::nullopt); }
    [[nodiscard]] const std::optional<std::filesystem::path>& report_file() const { return report_file_; }
    [[nodiscard]] const std::optional<std::vector<capture::DeviceInfo>>& devices() const { return devices_; }
    [[nodiscard]] const std::optional<walk::LookBack>& past() const { return past_; }
    struct Predicted {
        std::string text;
        std::vector<verify::PredictedCheck> checks;
    };
    [[nodiscard]] const Predicted& predicted() const { return predicted_; }
    [[nodiscard]] const std::vector<rehearsal::Hung>& hung() const { return hung_; }
    // For tests and pictures: records that no log stands behind.
    void show(RecordsPtr records) { records_ = std::move(records); }
    void show_curves(const CurveAsk& ask, std::shared_ptr<const std::vector<walk::HeardCurve>> curves) { curves_[ask] = std::move(curves); }
    void show_question(std::string question) {
        const std::lock_guard lock{question_mutex_};
        question_ = std::move(question);
    }
    void show_cards(std::vector<Card> cards) { cards_ = std::move(cards); }

private:
    // Touched by the worker's thread only.
    struct Back {
        std::optional<walk::Show> show;
        std::optional<walk::TakeSource> source;
        std::string source_key;  // what the source was made from
        std::vector<walk::Round> rounds;
        std::string rounds_key;  // plan and number of mics that they are for
    };
    using Job = Worker::Job;
    void run(std::string what, std::function<void(Job&, Back&)> work);
    void tell(Job& job, const Faults& faults);
    void hand_back_records(Job& job, const WalkSetup& setup);
    [[nodiscard]] static bool log_is_there(const Back& back);
    void tell_gone(Job& job, const Back& back);
    void take_steps(std::vector<walk::Step> steps, std::size_t index, bool as_run, const Settings& settings);
    [[nodiscard]] walk::Setup setup_of(Job& job, const Back& back, const walk::TakeSource& from, const Settings& settings);
    void follow(const capture::Progress& progress, int reference);
    void hand_back_cards(Job& job, const walk::StoredTake& stored, const walk::TakeSource& from);
    [[nodiscard]] bool ask(const std::string& question);
    [[nodiscard]] Result<walk::TakeSource*> source(Back& back, const Settings& settings);
    void change_view(const std::function<void(TakeView&)>& change);
    void use(walk::Show show, Job& job, const WalkSetup& setup);

    std::shared_ptr<Back> back_ = std::make_shared<Back>();
    mutable std::mutex view_mutex_;
    TakeView view_;
    std::chrono::steady_clock::time_point last_sample_;  // worker's
    walk::SequenceControl control_;
    mutable std::mutex question_mutex_;
    std::condition_variable answered_;
    std::optional<std::string> question_;
    std::optional<bool> answer_;
    bool closing_ = false;
    std::string exposure_;
    std::optional<CardsAfter> cards_after_;
    std::optional<std::chrono::steady_clock::time_point> card_since_;  // last sample of the take whose cards wait for their meaning
    std::atomic<unsigned> newest_refresh_{0};

    RecordsPtr records_;
    std::vector<Card> cards_;
    std::deque<Notice> notices_;
    std::optional<std::filesystem::path> waiting_plan_;
    std::optional<plan::PlanFile> waiting_plan_file_;
    std::optional<std::filesystem::path> report_file_, picture_wish_;
    std::optional<std::vector<capture::DeviceInfo>> devices_;
    std::optional<walk::LookBack> past_;
    std::vector<rehearsal::Hung> hung_;
    Predicted predicted_;
    std::optional<walk::CheckName> explanation_asked_;
    std::optional<verify::Explanation> explanation_;
    std::optional<EstimateAsk> estimate_asked_;
    std::optional<DeskEstimate> estimate_;
    std::optional<PlacedMics> placed_;
    std::string newest_draft_;  // only the newest draft's prediction is worked out
    mutable std::mutex draft_mutex_;
    std::map<CurveAsk, std::shared_ptr<const std::vector<walk::HeardCurve>>> curves_;
    std::optional<Audited> audited_;
    std::optional<Proof> proof_;
    Photo photo_;
    Worker worker_, aside_;  // last: their threads end before what they write to goes
};

[[nodiscard]] WalkSetup walk_setup(const Settings& settings);
[[nodiscard]] bool is_log(const std::filesystem::path& file);  // by its first bytes
// Beside the plan: hall.toml gives hall.db, rehearsed hall-rehearsal.db.
[[nodiscard]] std::filesystem::path log_for_plan(const std::filesystem::path& plan, bool rehearsal);

}  // namespace proofwalk::app
