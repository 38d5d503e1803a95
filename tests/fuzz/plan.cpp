// Design plans: what is read can be asked for its checks, and written and read again as the same plan.
#include "fuzz/outside.hpp"
#include "plan/checks.hpp"
#include "plan/read.hpp"
#include "plan/write.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    static const fuzz::Folder folder;
    const auto file = plan::read(fuzz::as_text(data, size), "plan.toml", folder.path());
    if (!file) {
        fuzz::demand_sentences(file.error());
        return 0;
    }
    (void)plan::checks(file->plan);
    const auto again = plan::read(plan::write(file->plan), "again.toml", folder.path());
    fuzz::demand(again.has_value(), "a plan that was written can be read");
    fuzz::demand(plan::same(file->plan, again->plan), "a plan comes back as it was written");
    return 0;
}
