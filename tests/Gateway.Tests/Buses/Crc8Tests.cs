using CsCheck;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Tests.Buses;

public sealed class Crc8Tests
{
    [Theory]
    [InlineData("002E0000", 0x6F, "MLX90614 application note 390119061402: erase cell 0x0E through address 0")]
    [InlineData("002E5A00", 0xE1, "same: write 0x5A to cell 0x0E through address 0")]
    [InlineData("B407B5D23A", 0x30, "MLX90614 data sheet: read object temperature 0x3AD2 at 0x5A")]
    [InlineData("B42207C8", 0x48, "MLX90614 data sheet: write 0xC807 to command 0x22")]
    [InlineData("B407B5D28A", 0x29, "computed apart with Python: the same read with the error bit set")]
    [InlineData("B4240000", 0x28, "computed apart with Python: erase emissivity at 0x5A")]
    [InlineData("B42432F3", 0x2C, "computed apart with Python: write emissivity 0.95")]
    [InlineData("B42414EE", 0xAF, "computed apart with Python: write emissivity 0.93")]
    [InlineData("313233343536373839", 0xF4, "catalogue check value of CRC-8/SMBUS, from memory, computed apart")]
    public void Packet_error_codes_agree_with_published_transfers(string bytes, byte expected, string source) =>
        Assert.True(expected == Crc8.Smbus(Convert.FromHexString(bytes)), source);

    [Theory]
    [InlineData("BEEF", 0x92, "Sensirion data sheets, worked example")]
    [InlineData("0000", 0x81, "computed apart with Python")]
    [InlineData("6666", 0x93, "computed apart with Python")]
    [InlineData("8000", 0xA2, "computed apart with Python")]
    [InlineData("FFFF", 0xAC, "computed apart with Python")]
    [InlineData("313233343536373839", 0xF7, "computed apart with Python")]
    public void Sensirion_check_bytes_agree_with_published_words(string bytes, byte expected, string source) =>
        Assert.True(expected == Crc8.Sensirion(Convert.FromHexString(bytes)), source);

    [Theory]
    [InlineData("50054B467FFF0C10", 0x1C, "genuine DS18B20 sample from a public test file")]
    [InlineData("2B0155057FA58166", 0xCF, "genuine DS18B20 sample from a public test file")]
    [InlineData("6C014B467FFF0410", 0x5D, "genuine DS18B20 sample from a public test file")]
    [InlineData("021CB801000000", 0xA2, "Maxim application note on CRC, from memory, computed apart")]
    public void Maxim_check_bytes_agree_with_genuine_samples(string bytes, byte expected, string source) =>
        Assert.True(expected == Crc8.Maxim(Convert.FromHexString(bytes)), source);

    [Fact]
    public void Any_damaged_byte_is_noticed_by_all_three() =>
        Gen.Select(Gen.Byte.Array[1, 8], Gen.Int[0, 7], Gen.Byte[1, 255]).Sample((bytes, at, flip) =>
        {
            at %= bytes.Length;
            var damaged = (byte[])bytes.Clone();
            damaged[at] ^= flip;
            return Crc8.Smbus(bytes) != Crc8.Smbus(damaged)
                && Crc8.Sensirion(bytes) != Crc8.Sensirion(damaged)
                && Crc8.Maxim(bytes) != Crc8.Maxim(damaged);
        });
}
