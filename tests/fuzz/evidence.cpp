// Evidence as bytes: what is accepted packs into bytes that say the same again.
#include "fuzz/outside.hpp"
#include "signal/evidence.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    const auto evidence = signal::unpack({reinterpret_cast<const std::byte*>(data), size});
    if (!evidence) {
        fuzz::demand_sentence(evidence.error());
        return 0;
    }
    const auto bytes = signal::pack(*evidence);
    const auto again = signal::unpack(bytes);
    fuzz::demand(again.has_value(), "evidence that was packed can be read");
    fuzz::demand(signal::pack(*again) == bytes, "evidence comes back to the bit");
    return 0;
}
