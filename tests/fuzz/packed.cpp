// The byte forms inside records of a log; the first byte of the input chooses which.
#include "fuzz/outside.hpp"
#include "log/bytes.hpp"
#include "log/packed_evidence.hpp"
#include "log/packed_judgement.hpp"
#include "log/packed_reading.hpp"

namespace {

using Bytes = std::span<const std::byte>;

void read_one(std::uint8_t which, Bytes bytes) {
    using namespace proofwalk;
    switch (which % 4) {
        case 0: {
            const auto packed = log::packed(log::evidence_from(bytes));
            fuzz::demand(log::packed(log::evidence_from(packed)) == packed, "evidence comes back to the bit");
            break;
        }
        case 1: {
            const auto packed = log::packed(log::reading_from(bytes));
            fuzz::demand(log::packed(log::reading_from(packed)) == packed, "a reading comes back to the bit");
            break;
        }
        case 2: {
            const auto packed = log::packed(log::bands_from(bytes));
            fuzz::demand(log::packed(log::bands_from(packed)) == packed, "levels come back to the bit");
            break;
        }
        default: {
            const auto whole = log::applied({}, bytes);
            const auto judgement = log::judgement_from(whole);
            (void)log::applied(whole, bytes);
            (void)log::packed(judgement);
        }
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    try {
        read_one(data[0], {reinterpret_cast<const std::byte*>(data + 1), size - 1});
    } catch (const proofwalk::log::BadBytes&) {
    }
    return 0;
}
