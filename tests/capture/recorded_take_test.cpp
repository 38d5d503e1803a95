#include <gmock/gmock.h>

#include <limits>

#include "capture/takes_folder.hpp"
#include "units/sha256.hpp"

namespace proofwalk::capture {
namespace {

using testing::HasSubstr;

class RecordedTake : public TakesFolder {
protected:
    // The recording t01.wav as the good take's entry sees it: reference on channel 1, mics on 2 and 3.
    [[nodiscard]] Result<Recording> record(const std::string& file = "t01.wav") const {
        const auto takes = load(sweep_take("t01", file));
        EXPECT_TRUE(takes.has_value());
        return record_of(*takes, takes->takes.at(0));
    }
    [[nodiscard]] std::string why_not(const std::string& file = "t01.wav") const {
        const auto recording = record(file);
        EXPECT_FALSE(recording.has_value());
        if (recording) return "";
        EXPECT_EQ(exit_status(recording.error()), 2);
        const std::string text = sentence(recording.error());
        EXPECT_THAT(text, HasSubstr(file));
        EXPECT_THAT(text, HasSubstr("take t01"));
        return text;
    }
};

TEST_F(RecordedTake, ReadsEachFormatOfTheContractExactly) {
    const auto samples = noise(3, 4800);
    const std::vector<std::tuple<int, int, double>> formats = {
        {SF_FORMAT_WAV | SF_FORMAT_PCM_16, 44100, std::ldexp(1.0, -15)}, {SF_FORMAT_WAV | SF_FORMAT_PCM_24, 48000, std::ldexp(1.0, -23)},
        {SF_FORMAT_WAV | SF_FORMAT_PCM_32, 88200, std::ldexp(1.0, -23)}, {SF_FORMAT_WAV | SF_FORMAT_FLOAT, 96000, 0.0},
        {SF_FORMAT_WAV | SF_FORMAT_DOUBLE, 176400, 0.0},                 {SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, 192000, std::ldexp(1.0, -23)},
        {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, 48000, std::ldexp(1.0, -23)}, {SF_FORMAT_W64 | SF_FORMAT_FLOAT, 48000, 0.0},
        {SF_FORMAT_FLAC | SF_FORMAT_PCM_24, 48000, std::ldexp(1.0, -23)}};
    for (const auto& [format, rate_hz, step] : formats) {
        write_sound("t01.wav", samples, rate_hz, format);
        const auto recording = record();
        ASSERT_TRUE(recording.has_value()) << sentence(recording.error());
        EXPECT_EQ(recording->rate_hz, rate_hz);
        ASSERT_EQ(recording->channels.size(), 3u);
        for (std::size_t c = 0; c < 3; ++c)
            for (std::size_t n = 0; n < 4800; ++n) ASSERT_NEAR(recording->channels[c][n], samples[c][n], step);
        EXPECT_EQ(recording->sha256, sha256(bytes_of("t01.wav")));
        EXPECT_EQ(recording->source, folder / "t01.wav");
        EXPECT_TRUE(recording->channel_faults.empty()) << told(recording->channel_faults);
    }
}

TEST_F(RecordedTake, WhatIsNoRecordingIsRefused) {
    EXPECT_THAT(why_not("none.wav"), HasSubstr("no such file"));
    write("t01.wav", "");
    EXPECT_THAT(why_not(), HasSubstr("is empty"));
    write("t01.wav", "these are the notes of the evening, not sound\n");
    EXPECT_THAT(why_not(), HasSubstr("not a recording"));
    std::filesystem::create_directories(folder / "t02.wav");
    EXPECT_THAT(why_not("t02.wav"), HasSubstr("not a file"));
    write_sound("t01.wav", noise(3, 100), 48000, SF_FORMAT_WAV | SF_FORMAT_PCM_U8);
    EXPECT_THAT(why_not(), HasSubstr("8-bit"));
    write_sound("t01.wav", noise(3, 100), 48000, SF_FORMAT_WAV | SF_FORMAT_ULAW);
    EXPECT_THAT(why_not(), HasSubstr("compressed"));
    write_sound("t01.wav", noise(3, 100), 48000, SF_FORMAT_AIFF | SF_FORMAT_PCM_16);
    EXPECT_THAT(why_not(), HasSubstr("neither WAV nor FLAC"));
    write("t01.wav", std::string("ID3\x04\0\0\0\0\0\0\xff\xfb\x90\x64", 14) + std::string(400, '\x55'));
    testing::internal::CaptureStderr();
    EXPECT_THAT(why_not(), HasSubstr("neither WAV nor FLAC"));
    EXPECT_EQ(testing::internal::GetCapturedStderr(), "") << "compressed sound never reaches its decoder";
    write_sound("t01.wav", noise(3, 100), 32000);
    EXPECT_THAT(why_not(), HasSubstr("32000 Hz"));
    write_sound("t01.wav", noise(3, 100), 384000);
    EXPECT_THAT(why_not(), HasSubstr("384000 Hz"));
}

TEST_F(RecordedTake, ACutFileIsNotTakenForAShortOne) {
    write_sound("t01.wav", noise(3, 4800));
    const std::string whole = bytes_of("t01.wav");
    for (const std::size_t left : {whole.size() - 1, whole.size() / 2, std::size_t{200}, std::size_t{60}, std::size_t{44}, std::size_t{20}}) {
        write("t01.wav", whole.substr(0, left));
        EXPECT_THAT(why_not(), testing::AnyOf(HasSubstr("truncated"), HasSubstr("not a recording"))) << left << " bytes left";
    }
    write_sound("t01.wav", noise(3, 48000), 48000, SF_FORMAT_FLAC | SF_FORMAT_PCM_24);
    const std::string flac = bytes_of("t01.wav");
    write("t01.wav", flac.substr(0, flac.size() / 2));
    EXPECT_THAT(why_not(), testing::AnyOf(HasSubstr("truncated"), HasSubstr("not a recording")));
    for (const int format : {SF_FORMAT_RF64 | SF_FORMAT_PCM_24, SF_FORMAT_W64 | SF_FORMAT_PCM_24}) {
        write_sound("t01.wav", noise(3, 4800), 48000, format);
        const std::string large = bytes_of("t01.wav");
        write("t01.wav", large.substr(0, large.size() - 3000));
        EXPECT_THAT(why_not(), HasSubstr("truncated"));
    }
}

// A recorder that lost its power leaves a header with length 0 or all ones.
TEST_F(RecordedTake, AnUnfinishedHeaderIsNamed) {
    write_sound("t01.wav", noise(3, 4800));
    for (const char fill : {'\0', '\xff'}) {
        std::string bytes = bytes_of("t01.wav");
        const auto data = bytes.find("data");
        ASSERT_NE(data, std::string::npos);
        std::fill_n(bytes.begin() + static_cast<std::ptrdiff_t>(data) + 4, 4, fill);
        write("t02.wav", bytes);
        EXPECT_THAT(why_not("t02.wav"), HasSubstr("never finished"));
    }
}

TEST_F(RecordedTake, TooFewChannelsAreNamed) {
    write_sound("t01.wav", noise(2, 4800));
    EXPECT_THAT(why_not(), HasSubstr("channel 3: the mic m2 is said to be here, but the recording has 2 channels"));
    write_sound("t01.wav", noise(1, 4800));
    EXPECT_THAT(why_not(), HasSubstr("the recording has 1 channel"));
}

TEST_F(RecordedTake, ZerosAndClippingAreNamedByChannel) {
    auto samples = noise(3, 4800);
    std::fill(samples[0].begin(), samples[0].end(), 0.0f);
    write_sound("t01.wav", samples);
    EXPECT_THAT(why_not(), HasSubstr("channel 1: the reference is all zeros"));

    samples = noise(3, 4800);
    for (const std::size_t c : {1u, 2u}) std::fill(samples[c].begin(), samples[c].end(), 0.0f);
    write_sound("t01.wav", samples);
    EXPECT_THAT(why_not(), HasSubstr("every other one of the take is all zeros"));

    // One mic of two: the other one's evidence counts, so the take is kept.
    samples = noise(3, 4800);
    std::fill(samples[2].begin(), samples[2].end(), 0.0f);
    for (std::size_t n = 2400; n < 2410; ++n) samples[1][n] = 1.2f;
    write_sound("t01.wav", samples, 48000, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    const auto kept = record();
    ASSERT_TRUE(kept.has_value()) << sentence(kept.error());
    EXPECT_THAT(told(kept->channel_faults), HasSubstr("channel 3: mic m2 is all zeros"));
    EXPECT_THAT(told(kept->channel_faults), HasSubstr("channel 2: the mic m1 is clipped, first at 0.050 s"));
    EXPECT_EQ(kept->channel_faults.size(), 2u);
}

TEST_F(RecordedTake, NoiseWithoutSignalIsNoFault) {
    auto samples = noise(3, 4800);
    for (auto& sample : samples[1]) sample *= 1e-3f;
    write_sound("t01.wav", samples);
    const auto recording = record();
    ASSERT_TRUE(recording.has_value());
    EXPECT_TRUE(recording->channel_faults.empty());
}

TEST_F(RecordedTake, SamplesThatAreNoNumbersAreNamedByChannelAndTime) {
    for (const float bad : {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity(), 1e30f}) {
        auto samples = noise(3, 4800);
        samples[2][480] = bad;
        write_sound("t01.wav", samples, 48000, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
        EXPECT_THAT(why_not(), HasSubstr("channel 3: the sample at 0.010 s is"));
    }
}

TEST_F(RecordedTake, TheSignalMustFitTheRecording) {
    const std::string with_signal = "[[signal]]\nid = \"s\"\nfile = \"s.wav\"\n[[take]]\nid = \"t01\"\nfile = \"t01.wav\"\nkind = \"sweep\"\n"
                                    "sounding = [\"M1\"]\nsignal = \"s\"\nmics = [{ channel = 1, mic = \"m1\", position = \"p1\" }]\n";
    write_sound("t01.wav", noise(1, 4800));
    const auto takes = load(with_signal);
    ASSERT_TRUE(takes.has_value() && takes->takes.size() == 1) << told(takes->faults);
    const auto why = [&] {
        const auto recording = record_of(*takes, takes->takes[0]);
        return recording ? std::string() : sentence(recording.error());
    };
    EXPECT_THAT(why(), HasSubstr("s.wav, signal of take t01: there is no such file"));
    write_sound("s.wav", noise(1, 2400), 44100);
    EXPECT_THAT(why(), HasSubstr("sample rate of 44100 Hz, the recording t01.wav has 48000 Hz"));
    write_sound("s.wav", noise(2, 2400));
    EXPECT_THAT(why(), HasSubstr("2 channels"));
    write_sound("s.wav", {std::vector<float>(2400, 0.0f)});
    EXPECT_THAT(why(), HasSubstr("all zeros"));
    write_sound("s.wav", noise(1, 2400));
    const auto good = record_of(*takes, takes->takes[0]);
    ASSERT_TRUE(good.has_value());
    EXPECT_EQ(good->played.size(), 2400u);
}

// A header may claim anything; memory is asked for only after the claim was compared with the file.
TEST_F(RecordedTake, AbsurdClaimsAreRefusedBeforeAnyMemoryIsAskedFor) {
    write_sound("t01.wav", noise(3, 100));
    std::string bytes = bytes_of("t01.wav");
    const auto data = bytes.find("data");
    for (const char* size : {"\xf0\xff\xff\x7f", "\xf0\xff\xff\xff"}) {
        bytes.replace(data + 4, 4, size, 4);
        write("t02.wav", bytes);
        EXPECT_THAT(why_not("t02.wav"), HasSubstr("truncated"));
    }
    // A file of 3 TB that takes no room on the disk.
    write_sound("t03.wav", noise(3, 100));
    std::filesystem::resize_file(folder / "t03.wav", 3'000'000'000'000);
    EXPECT_THAT(why_not("t03.wav"), HasSubstr("is larger"));
}

// Every single byte of a header replaced: no crash, and what is accepted is finite and of one length.
TEST_F(RecordedTake, NoHeaderByteCanBreakTheReader) {
    write_sound("t01.wav", noise(3, 64), 48000, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
    const std::string whole = bytes_of("t01.wav");
    const std::size_t header = whole.find("data") + 8;
    for (std::size_t at = 0; at < header; ++at)
        for (const char value : {'\0', '\x01', '\x7f', '\x80', '\xff'}) {
            std::string bytes = whole;
            bytes[at] = value;
            const auto audio = audio_from_bytes(bytes, "changed.wav");
            if (!audio) continue;
            for (const auto& channel : audio->channels) EXPECT_EQ(channel.size(), audio->length());
        }
}

TEST_F(RecordedTake, WrittenSoundReadsBackToTheBitAndWritesTheSameBytes) {
    const Audio audio{48000.0, noise(2, 1000)};
    ASSERT_TRUE(write_wav_float(folder / "a.wav", audio).has_value());
    ASSERT_TRUE(write_wav_float(folder / "b.wav", audio).has_value());
    const auto back = read_audio(folder / "a.wav");
    ASSERT_TRUE(back.has_value()) << sentence(back.error());
    EXPECT_EQ(back->channels, audio.channels);
    EXPECT_EQ(bytes_of("a.wav"), bytes_of("b.wav"));
    EXPECT_FALSE(std::filesystem::exists(folder / "a.wav.part"));
    EXPECT_THAT(sentence(write_wav_float(folder / "no" / "a.wav", audio).error()), HasSubstr("cannot be written"));
}

TEST(RawHash, DependsOnRateShapeAndSamples) {
    const std::vector<std::vector<float>> one = {{1.0f, 2.0f}, {3.0f, 4.0f}};
    const std::string hash = raw_sha256(48000.0, one);
    EXPECT_EQ(hash, raw_sha256(48000.0, one));
    EXPECT_NE(hash, raw_sha256(44100.0, one));
    EXPECT_NE(hash, raw_sha256(48000.0, {{1.0f, 2.0f, 3.0f}, {4.0f}}));
    EXPECT_NE(hash, raw_sha256(48000.0, {{1.0f, 2.0f, 3.0f, 4.0f}}));
    // The stated bytes, made by hand.
    std::string bytes = "proofwalk.raw/1 48000 1\n";
    bytes += std::string("\x01\0\0\0\0\0\0\0", 8) + std::string("\0\0\x80\x3f", 4);
    EXPECT_EQ(raw_sha256(48000.0, {{1.0f}}), sha256(bytes));
}

}  // namespace
}  // namespace proofwalk::capture
