// Calibration texts of mics: what is accepted rises in frequency and has numbers only.
#include <cmath>

#include "fuzz/outside.hpp"
#include "signal/measure.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    const auto response = signal::mic_response_from_text(fuzz::as_text(data, size), "mic.txt");
    if (!response) {
        fuzz::demand_sentence(response.error());
        return 0;
    }
    fuzz::demand(response->hz.size() == response->db.size() && response->hz.size() >= 2, "a level for each of its frequencies");
    for (std::size_t n = 0; n < response->hz.size(); ++n) {
        fuzz::demand(std::isfinite(response->hz[n]) && std::isfinite(response->db[n]), "numbers only");
        fuzz::demand(n == 0 || response->hz[n] > response->hz[n - 1], "frequencies rise");
    }
    return 0;
}
