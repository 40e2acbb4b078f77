using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Faults;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Ingest;

/// <summary>The folder of packs that a damaged store did not take, after a cut supply and when many wait.</summary>
public sealed class PackQuarantineTests : IDisposable
{
    private static readonly GatewayId Gateway = GatewayId.Parse("north-gate");

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-aside-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private string Aside => Path.Combine(_folder, "packs-aside");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task A_whole_pack_that_a_cut_supply_left_without_its_name_is_stored_and_half_of_one_is_removed()
    {
        var pack = ReadingPack.Write([Good(NorthGate, Noon.AddMinutes(-5), 61)]);
        Directory.CreateDirectory(Aside);
        await File.WriteAllBytesAsync(Name("a"), pack, Cancel);
        await File.WriteAllBytesAsync(Name("b"), pack[..^3], Cancel);
        await File.WriteAllBytesAsync(Name("c"), [], Cancel);
        await File.WriteAllBytesAsync(Name("d"), new byte[pack.Length], Cancel); // A journal that kept the length only.

        await using var server = await StartAsync(_folder);

        await Patience.UntilAsync(() => Directory.GetFiles(Aside).Length == 0, () => $"left: {string.Join(", ", Directory.GetFiles(Aside))}");
        var stored = await server.Get<IReadingStore>().RangeAsync(NorthGate.Id, Noon.AddHours(-1), Noon, Cancel);
        Assert.Equal(61, Assert.Single(stored).Reading.SurfaceCelsius);
        Assert.Empty(server.Get<ServiceFaults>().Standing);
    }

    [Fact]
    public async Task How_many_wait_is_counted_once_and_kept()
    {
        var faults = new ServiceFaults(new FakeTimeProvider(Noon));
        using (var before = Packs(faults))
            Assert.NotNull(await before.PutAsync(Gateway, Noon, ReadingPack.Write([Good(NorthGate, Noon, 61)])));

        using var packs = Packs(faults);
        Assert.NotNull(await packs.PutAsync(Gateway, Noon, ReadingPack.Write([Good(NorthGate, Noon, 62)])));
        Assert.StartsWith("2 packs", Words(), StringComparison.Ordinal);
        // A file that somebody else puts there would be seen by whoever reads the folder each time.
        await File.WriteAllTextAsync(Name("x")[..^".next".Length], "[]", Cancel);
        Assert.NotNull(await packs.PutAsync(Gateway, Noon, ReadingPack.Write([Good(NorthGate, Noon, 63)])));
        Assert.StartsWith("3 packs", Words(), StringComparison.Ordinal);

        await packs.RemoveAsync(packs.All()[0]);
        await packs.TellAsync();
        Assert.StartsWith("2 packs", Words(), StringComparison.Ordinal);

        string Words() => Assert.Single(faults.Standing, fault => fault.Key == PackQuarantine.Fault).Words;
    }

    private static PackQuarantine Packs(string folder, ServiceFaults faults) => new(
        Options.Create(new StoreOptions { Path = Path.Combine(folder, "readings.sqlite") }), faults, NullLogger<PackQuarantine>.Instance);

    private PackQuarantine Packs(ServiceFaults faults) => Packs(_folder, faults);

    private string Name(string last) => Path.Combine(Aside, $"20260714T165500000Z_north-gate_{last}.json.next");
}
