// Photos as they are read, refused, and looked at in the window.
#include <GLFW/glfw3.h>
#include <stb/stb_image_write.h>

#include <random>

#include "app/photo.hpp"
#include "shows.hpp"
#include "table.hpp"

namespace proofwalk::app {
namespace {

void append(void* to, void* bytes, int count) { static_cast<std::string*>(to)->append(static_cast<const char*>(bytes), static_cast<std::size_t>(count)); }

Pixels striped(int width, int height) {
    Pixels pixels{width, height};
    for (int y = 0; y < height; ++y)
        for (int x = 0; x < width; ++x) pixels.at(x, y) = x < width / 2 ? rgb(0xE0E0E0) : rgb(0x202020);
    return pixels;
}
std::string as_png(const Pixels& pixels) {
    std::string bytes;
    EXPECT_NE(stbi_write_png_to_func(append, &bytes, pixels.width, pixels.height, 4, pixels.colours.data(), pixels.width * 4), 0);
    return bytes;
}
// With an Exif block between its first two segments; the layout from Exif 2.3, chapter 4.5 and 4.7.
std::string as_jpeg(const Pixels& pixels, unsigned char orientation) {
    std::string bytes;
    EXPECT_NE(stbi_write_jpg_to_func(append, &bytes, pixels.width, pixels.height, 4, pixels.colours.data(), 95), 0);
    using namespace std::string_literals;
    std::string exif = "\xff\xe1\x00\x22"s + "Exif\0\0"s + "MM\0\x2a\0\0\0\x08"s + "\0\x01"s + "\x01\x12\0\x03\0\0\0\x01\0"s;
    exif += static_cast<char>(orientation);
    exif += "\0\0\0\0\0\0"s;
    return bytes.substr(0, 2) + exif + bytes.substr(2);
}

TEST(Photo, APngComesOutAsItWentIn) {
    Pixels pixels = striped(7, 5);
    pixels.at(3, 2) = rgb(0x123456, 77);
    const auto read = photo_from_bytes(as_png(pixels), "a.png");
    ASSERT_TRUE(read.has_value()) << sentence(read.error());
    EXPECT_EQ(read->width, 7);
    EXPECT_EQ(read->colours, pixels.colours);
}

TEST(Photo, AJpegStandsUpright) {
    // Orientation 6: what is on the left in the file belongs at the top.
    EXPECT_EQ(orientation_of(as_jpeg(striped(32, 16), 6)), 6);
    const auto read = photo_from_bytes(as_jpeg(striped(32, 16), 6), "a.jpg");
    ASSERT_TRUE(read.has_value()) << sentence(read.error());
    EXPECT_EQ(read->width, 16);
    EXPECT_EQ(read->height, 32);
    Pixels pixels = *read;
    EXPECT_GT(pixels.at(8, 4) & 0xFFU, 200U);
    EXPECT_LT(pixels.at(8, 28) & 0xFFU, 60U);
    EXPECT_EQ(orientation_of(as_jpeg(striped(8, 8), 9)), 1);
    EXPECT_EQ(orientation_of("\xff\xd8\xff"), 1);
}

// The first pixel's place under each of the eight orientations (Exif 2.3, tag 0x0112).
TEST(Photo, EveryOrientation) {
    const std::array<std::array<int, 2>, 8> places = {{{0, 0}, {2, 0}, {2, 1}, {0, 1}, {0, 0}, {1, 0}, {1, 2}, {0, 2}}};
    for (int orientation = 1; orientation <= 8; ++orientation) {
        Pixels pixels{3, 2};
        pixels.at(0, 0) = rgb(0xFF0000);
        Pixels turned = upright(pixels, orientation);
        EXPECT_EQ(turned.width, orientation < 5 ? 3 : 2);
        const auto [x, y] = places[static_cast<std::size_t>(orientation - 1)];
        EXPECT_EQ(turned.at(x, y), rgb(0xFF0000)) << orientation;
    }
}

TEST(Photo, LargeOnesAreMadeSmallerByMeans) {
    Pixels pixels{4, 2};
    for (int i = 0; i < 8; ++i) pixels.colours[static_cast<std::size_t>(i)] = rgb(static_cast<std::uint32_t>(i) * 20U);
    Pixels small = made_smaller(pixels, 2);
    ASSERT_EQ(small.width, 2);
    ASSERT_EQ(small.height, 1);
    EXPECT_EQ((small.at(0, 0) >> 16) & 0xFFU, (0U + 20U + 80U + 100U) / 4U);
    EXPECT_EQ(small.at(0, 0) >> 24, 255U);
    const auto read = photo_from_bytes(as_png(striped(300, 100)), "wide.png", 64);
    ASSERT_TRUE(read.has_value());
    EXPECT_EQ(read->width, 64);
    EXPECT_EQ(read->height, 21);
}

TEST(Photo, WhatCantBeShownIsRefusedInASentence) {
    const auto why = [](const std::string& bytes) {
        const auto read = photo_from_bytes(bytes, "x");
        return read ? std::string{"shown"} : sentence(read.error());
    };
    EXPECT_NE(why("GIF89a").find("no PNG or JPEG"), std::string::npos);
    EXPECT_NE(why("").find("no PNG or JPEG"), std::string::npos);
    EXPECT_NE(why(as_png(striped(64, 64)).substr(0, 60)).find("damaged"), std::string::npos);
    std::string giant = as_png(striped(4, 4));
    giant[18] = giant[22] = '\x30';  // 12,292 x 12,292 in its header
    EXPECT_NE(why(giant).find("has 12292 x 12292 pixels; up to 64 million are shown"), std::string::npos) << why(giant);
    giant[16] = giant[20] = '\x70';  // more than its reader would take
    EXPECT_NE(why(giant).find("pixels; up to 64 million are shown"), std::string::npos) << why(giant);
    EXPECT_NE(why(as_png(striped(4, 4)) + std::string(65U << 20U, ' ')).find("MB large"), std::string::npos);
}

// Whatever is wrong in it: a picture or a sentence, never more.
TEST(Photo, DamageNeverDoesMoreThanRefuse) {
    std::mt19937 random{7};
    int refused = 0;
    for (const std::string& whole : {as_png(striped(40, 30)), as_jpeg(striped(40, 30), 6)})
        for (int i = 0; i < 1500; ++i) {
            std::string bytes = whole;
            for (int k = 0; k < 1 + i % 6; ++k) bytes[3 + random() % (bytes.size() - 3)] = static_cast<char>(random());
            if (i % 5 == 0) bytes.resize(random() % bytes.size());
            const auto read = photo_from_bytes(bytes, "x");
            if (!read) ++refused;
            else EXPECT_EQ(read->colours.size(), static_cast<std::size_t>(read->width) * static_cast<std::size_t>(read->height));
        }
    EXPECT_GT(refused, 100);
}

class Looking : public ::testing::Test {
protected:
    // Attached in a rehearsal, then chosen in the list of what was noted.
    void choose(const std::filesystem::path& file) {
        begin_rehearsal(table, place);
        table.app().desk().keep({"box CA", "", file, false}, table.app().state().settings);
        table.settle();
        ASSERT_EQ(table.app().desk().records()->page.remarks.size(), 1U);
    }
    void look() {
        table.app().state().sheet = Sheet::look_back;
        table.app().state().look_back_view = 1;
        table.settle();
        table.press("notes:0");
        table.app().ui().focus("notes");
        table.key(GLFW_KEY_ENTER);
        ASSERT_EQ(table.app().state().slip, Slip::photo);
        table.check_drawing();
    }
    static AppOptions with(const std::shared_ptr<PictureShelf>& shelf) {
        AppOptions options;
        options.shelf = shelf;
        return options;
    }

    Place place;
    std::shared_ptr<PictureShelf> shelf = std::make_shared<PictureShelf>();
    Table table{1280.0F, 800.0F, with(shelf)};
};

TEST_F(Looking, APhotoIsShownAndFreedWhenItIsPutAway) {
    choose(place.write("shackle.png", as_png(striped(90, 60))));
    look();
    ASSERT_TRUE(table.app().desk().photo().found.has_value());
    ASSERT_TRUE(table.app().desk().photo().found->has_value());
    EXPECT_EQ(shelf->kept(), 1);
    table.key(GLFW_KEY_ESCAPE);
    EXPECT_EQ(table.app().state().slip, Slip::none);
    EXPECT_EQ(shelf->kept(), 0);
    EXPECT_FALSE(table.app().desk().photo().found.has_value());
}

TEST_F(Looking, OneThatIsNotWhatWasAttachedIsRefused) {
    choose(place.write("shackle.png", as_png(striped(90, 60))));
    const auto folder = place / "small-rehearsal.db.takes";
    for (const auto& entry : std::filesystem::directory_iterator{folder})
        if (entry.path().extension() == ".png") std::ofstream{entry.path(), std::ios::binary | std::ios::trunc} << as_png(striped(50, 50));
    look();
    ASSERT_TRUE(table.app().desk().photo().found.has_value());
    ASSERT_FALSE(table.app().desk().photo().found->has_value());
    EXPECT_NE(sentence(table.app().desk().photo().found->error()).find("is not the shackle.png that was attached"), std::string::npos);
    EXPECT_EQ(shelf->kept(), 0);
}

TEST_F(Looking, FromTheRoomBesideItsBox) {
    choose(place.write("list.txt", "no picture"));
    table.app().state().sheet = Sheet::room;
    table.app().state().box = "CA";
    table.settle();
    table.press("photo-1");
    ASSERT_EQ(table.app().state().slip, Slip::photo);
    ASSERT_TRUE(table.app().desk().photo().found.has_value());
    EXPECT_FALSE(table.app().desk().photo().found->has_value());
}

}  // namespace
}  // namespace proofwalk::app
