using CsCheck;
using PavementWatch.Server.Broker;

namespace PavementWatch.Server.Tests.Broker;

public sealed class PacketGuardTests
{
    // MQTT 5.0, section 1.5.5, table 1-1: the largest lengths of one, two, three and four bytes.
    [Theory]
    [InlineData(127, new byte[] { 0x7F })]
    [InlineData(128, new byte[] { 0x80, 0x01 })]
    [InlineData(16_383, new byte[] { 0xFF, 0x7F })]
    [InlineData(16_384, new byte[] { 0x80, 0x80, 0x01 })]
    [InlineData(2_097_151, new byte[] { 0xFF, 0xFF, 0x7F })]
    [InlineData(268_435_455, new byte[] { 0xFF, 0xFF, 0xFF, 0x7F })]
    public async Task A_length_at_the_limit_passes_and_one_byte_over_it_does_not(int length, byte[] encoded)
    {
        byte[] packet = [0x30, .. encoded];

        Assert.Equal(packet.Length, await ReadAllAsync(packet, first: length, then: length, chunk: 64, _ => { }));
        long told = 0;
        await Assert.ThrowsAsync<IOException>(() => ReadAllAsync(packet, first: length - 1, then: length, chunk: 64, bytes => told = bytes));
        Assert.Equal(length, told);
    }

    [Fact]
    public void Packets_pass_unchanged_however_the_network_cuts_them_and_only_the_first_has_the_small_limit() =>
        Gen.Select(Gen.Int[0, 300].List[1, 20], Gen.Int[1, 700]).Sample((lengths, chunk) =>
        {
            lengths[0] = Math.Min(lengths[0], 100);
            var packets = lengths.SelectMany(length => (byte[])[
                0x30, .. length < 128 ? new[] { (byte)length } : [(byte)(length % 128 | 0x80), (byte)(length / 128)],
                .. Enumerable.Repeat((byte)0xFF, length)]).ToArray();
            return ReadAllAsync(packets, first: 100, then: 300, chunk, _ => { }).GetAwaiter().GetResult() == packets.Length;
        });

    private static async Task<long> ReadAllAsync(byte[] bytes, int first, int then, int chunk, Action<long> tooLarge)
    {
        await using var guard = new PacketGuard(new MemoryStream(bytes), first, then, tooLarge);
        var read = new MemoryStream();
        var buffer = new byte[chunk];
        while (await guard.ReadAsync(buffer, TestContext.Current.CancellationToken) is var count and > 0)
            read.Write(buffer, 0, count);
        Assert.Equal(bytes, read.ToArray());
        return read.Length;
    }
}
