// Recordings: what is accepted has numbers only, and as many samples as its header says on every channel.
#include <cmath>

#include "capture/audio_file.hpp"
#include "fuzz/outside.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    using namespace proofwalk;
    const auto audio = capture::audio_from_bytes(fuzz::as_text(data, size), "take.wav");
    if (!audio) {
        fuzz::demand_sentence(audio.error());
        return 0;
    }
    fuzz::demand(audio->rate_hz >= 44100.0 && audio->rate_hz <= 192000.0, "the rate is one of those that are read");
    fuzz::demand(!audio->channels.empty() && audio->length() > 0, "a recording that is read holds samples");
    for (const auto& channel : audio->channels) {
        fuzz::demand(channel.size() == audio->length(), "all channels are of one length");
        for (const float sample : channel) fuzz::demand(std::isfinite(sample), "every sample is a number");
    }
    return 0;
}
