// Stores takes in a log one after another, with raw recordings, and says "logged LABEL HASH" when one is stored. It is
// made to be killed. Usage: store_takes LOG FIRST COUNT
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "log/sample.hpp"

namespace {

using namespace proofwalk;

int run(const char* file, int first, int count) {
    auto log = log::Log::open(file, log::Mode::write);
    if (!log) {
        std::fprintf(stderr, "%s\n", sentence(log.error()).c_str());
        return 3;
    }
    for (int number = first; number < first + count; ++number) {
        const auto seed = static_cast<unsigned>(number);
        const log::TakeRecord take = log::sample::take("t" + std::to_string(number), seed, 2);
        const auto added = log->add_take(take, log::sample::recording(9, 600, seed));
        if (!added) {
            std::fprintf(stderr, "%s\n", sentence(added.error()).c_str());
            return 3;
        }
        const std::string line = "logged " + take.label + " " + take.sha256 + "\n";
        if (::write(STDOUT_FILENO, line.data(), line.size()) < 0) return 3;
        const auto basis = log->newest_basis();
        if (number % 3 == 0 && basis)
            if (!log->add_judgement(log::sample::judgement(4, 2, number), *basis, log::sample::origin())) return 3;
    }
    return 0;
}

}  // namespace

int main(int argc, char** argv) { return argc == 4 ? run(argv[1], std::atoi(argv[2]), std::atoi(argv[3])) : 2; }
