// Writes the part of the corpus that is no text: recordings, AES69 files, byte forms, edits of logs. `fuzz_seeds FOLDER`.
#include <sndfile.h>

#include <cmath>
#include <functional>
#include <stdexcept>

#include "acoustics/sofa_content.hpp"
#include "acoustics/sofa_writer.hpp"
#include "fuzz/outside.hpp"
#include "log/log.hpp"
#include "log/packed_evidence.hpp"
#include "log/packed_judgement.hpp"
#include "log/packed_reading.hpp"
#include "log/sample.hpp"

namespace {

using namespace proofwalk;
namespace fs = std::filesystem;

std::string contents(const fs::path& file) {
    std::ifstream stream(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(stream), {}};
}

void write(const fs::path& file, std::string_view bytes) {
    fs::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary).write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
}

std::string text_of(const std::vector<std::byte>& bytes) { return {reinterpret_cast<const char*>(bytes.data()), bytes.size()}; }

// The whole thing, cut in its middle, and with its beginning spoilt.
void write_with_damage(const fs::path& folder, const std::string& name, std::string bytes) {
    write(folder / name, bytes);
    write(folder / ("cut-" + name), bytes.substr(0, bytes.size() / 2));
    bytes[bytes.size() / 8] = static_cast<char>(bytes[bytes.size() / 8] ^ 0x55);
    write(folder / ("spoilt-" + name), bytes);
}

void recordings(const fs::path& folder) {
    const auto sound = [&](const std::string& name, int format, int channels) {
        SF_INFO info{};
        info.samplerate = 48000;
        info.channels = channels;
        info.format = format;
        fs::create_directories(folder);
        SNDFILE* file = sf_open((folder / name).c_str(), SFM_WRITE, &info);
        if (file == nullptr) throw std::runtime_error(sf_strerror(nullptr));
        std::vector<float> samples(static_cast<std::size_t>(64 * channels));
        for (std::size_t n = 0; n < samples.size(); ++n) samples[n] = 0.5F * std::sin(static_cast<float>(n));
        sf_writef_float(file, samples.data(), 64);
        sf_close(file);
        write_with_damage(folder, name, contents(folder / name));
    };
    sound("pcm16.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, 1);
    sound("pcm24.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, 2);
    sound("float.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, 2);
    sound("pcm24.rf64", SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 2);
    sound("pcm24.w64", SF_FORMAT_W64 | SF_FORMAT_PCM_24, 2);
    sound("pcm24.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 2);
    sound("coarse.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_U8, 1);
}

void directivities(const fs::path& folder) {
    fs::create_directories(folder);
    std::vector<acoustics::MeasuredDirection> directions;
    for (const double v_deg : {-60.0, 0.0, 60.0})
        for (const double h_deg : {-90.0, 0.0, 90.0, 180.0})
            directions.push_back({h_deg, v_deg, {1.0, 1.0 - std::fabs(h_deg) / 400.0, 1.0 - std::fabs(v_deg) / 200.0}});
    acoustics::write_directivity_tf(folder / "box.sofa", {1000.0, 2000.0, 4000.0}, directions);
    write_with_damage(folder, "box.sofa", contents(folder / "box.sofa"));
    acoustics::write_directivity_tf(folder / "few.sofa", {1000.0}, {directions.begin(), directions.begin() + 3});
}

// Answers of the reading process, and descriptions of arrays (see directions.cpp): a shape, then a byte a value.
void directions(const fs::path& folder) {
    using namespace std::string_literals;
    std::vector<acoustics::SofaDirection> six;
    for (const Vec3 towards : {Vec3{1, 0, 0}, Vec3{-1, 0, 0}, Vec3{0, 1, 0}, Vec3{0, -1, 0}, Vec3{0, 0, 1}, Vec3{0, 0, -1}}) {
        six.push_back({towards, {}});
        six.back().level_db[17] = -3.0;
    }
    write_with_damage(folder, "answer", "\0"s + text_of(acoustics::reply_of(six)));
    write(folder / "refusal", "\0"s + text_of(acoustics::reply_of(std::unexpected(Fault{FaultKind::input, "", "", "no AES69 file", "give one"}))));
    const auto numbers = [](std::size_t count) {
        std::string bytes;
        for (std::size_t n = 0; n < count; ++n) bytes += static_cast<char>(129 + 16 * (n % 7) + n % 3);
        return bytes;
    };
    const std::string places = "\x0b\x03\x05\x02\0"s + numbers(18);
    write(folder / "transfer", "\1\1\0\x03\0\x05\1"s + numbers(12) + "\2\1\1"s + numbers(2) + places);
    write(folder / "impulse", "\1\3\3\x03\0\x05\3"s + numbers(24) + "\4\1\0"s + numbers(1) + places);
}

void byte_forms(const fs::path& corpus) {
    std::mt19937 random(1);
    const auto evidence = log::sample::evidence(random, 40);
    write_with_damage(corpus / "evidence", "small", text_of(signal::pack(evidence)));
    const auto form = [&](const std::string& name, char which, const std::vector<std::byte>& bytes) {
        write_with_damage(corpus / "packed", name, which + text_of(bytes));
    };
    form("evidence", 0, log::packed(evidence));
    form("reading", 1, log::packed(log::sample::reading(random)));
    form("levels", 2, log::packed(log::sample::bands(random, -40.0)));
    const auto first = log::packed(log::sample::judgement(1, 0, 0)), second = log::packed(log::sample::judgement(1, 0, 1));
    form("judgement", 3, log::difference({}, first));
    form("difference", 3, log::difference(first, second));
}

void logs(const fs::path& folder) {
    using namespace std::string_literals;
    write(folder / "sound", "\0"s);
    write(folder / "header", "\0\x12\0\0\x02\x02\x02"s);
    write(folder / "version", "\1\x3c\0\0\x04\0\0\0\x09"s);
    write(folder / "application", "\0\x44\0\0\x04\0\0\0\1"s);
    for (int page = 1; page < 30; page += 4) {
        std::string edits = page % 8 == 1 ? "\1"s : "\0"s;
        const auto edit = [&](int at, std::string_view bytes) {
            edits += {static_cast<char>(at), static_cast<char>(at >> 8), static_cast<char>(at >> 16), static_cast<char>(bytes.size())};
            edits += bytes;
        };
        edit(page * 4096, "\x0d\0\0\0\1\x0f\0"s);
        edit(page * 4096 + 3900, "changed");
        write(folder / ("page-" + std::to_string(page)), edits);
    }
    write(folder / "beginning-only", "SQLite format 3\0\x10\0\1\1\0\x40\x20\x20"s);
}

}  // namespace

int main(int count, char** words) {
    if (count != 2) {
        std::fprintf(stderr, "usage: fuzz_seeds FOLDER\n");
        return 2;
    }
    const fs::path corpus = words[1];
    recordings(corpus / "recording");
    directivities(corpus / "directivity");
    directions(corpus / "directions");
    byte_forms(corpus);
    logs(corpus / "log");
    return 0;
}
