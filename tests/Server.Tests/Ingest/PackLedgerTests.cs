using System.Text;
using MQTTnet.Packets;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Ingest;

public sealed class PackLedgerTests
{
    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    [Fact]
    public void A_run_is_told_number_by_number()
    {
        var ledger = new PackLedger();
        PackArrival Note(string boot, long sequence) => ledger.Note(Gate, new PackNumber(boot, sequence));

        Assert.Equal(PackArrival.InOrder, Note("a", 7)); // The server started later than the gateway.
        Assert.Equal(PackArrival.InOrder, Note("a", 8));
        Assert.Equal(PackArrival.Again, Note("a", 8));
        Assert.Equal(new PackArrival(PackArrivalKind.AfterGap, 9, 2), Note("a", 11));
        Assert.Equal(PackArrival.Late, Note("a", 9));
        Assert.Equal(PackArrival.Again, Note("a", 9));
        Assert.Equal([10], ledger.Missing(Gate));
        Assert.Equal(PackArrival.InOrder, Note("b", 1));
        Assert.Empty(ledger.Missing(Gate));
        Assert.Empty(ledger.Missing(GatewayId.Parse("quarry")));
    }

    [Fact]
    public void A_huge_gap_is_counted_in_full_and_its_last_thousand_remembered()
    {
        var ledger = new PackLedger();
        ledger.Note(Gate, new PackNumber("a", 0));

        Assert.Equal(new PackArrival(PackArrivalKind.AfterGap, 1, 999_999), ledger.Note(Gate, new PackNumber("a", 1_000_000)));

        var missing = ledger.Missing(Gate);
        Assert.Equal((PackLedger.MostGaps, 999_000, 999_999), (missing.Count, missing[0], missing[^1]));
    }

    [Theory]
    [InlineData("a", "0", true, null)]
    [InlineData("a", "9007199254740992", true, null)]
    [InlineData("a", "9007199254740993", false, "seq is not a whole number from 0 to 2^53")]
    [InlineData("a", "1.5", false, "seq is not a whole number")]
    [InlineData("a", null, false, "seq is not a whole number")]
    [InlineData(null, "1", false, "boot is missing")]
    [InlineData("", "1", false, "boot is 0 characters long, expected 1 to 64")]
    [InlineData(null, null, false, null)]
    public void Pack_numbers_are_read_or_say_what_is_wrong(string? boot, string? sequence, bool isNumber, string? fault)
    {
        var properties = new List<MqttUserProperty>();
        if (boot is not null)
            properties.Add(new MqttUserProperty("boot", Encoding.UTF8.GetBytes(boot)));
        if (sequence is not null)
            properties.Add(new MqttUserProperty("seq", Encoding.UTF8.GetBytes(sequence)));

        var (number, found) = PackNumber.Read(properties);

        Assert.Equal(isNumber, number is not null);
        Assert.Equal(fault is null, found is null);
        Assert.Contains(fault ?? "", found ?? "", StringComparison.Ordinal);
    }
}
