using System.Threading.Channels;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Publishing;

/// <summary>Puts together what the gateway says of itself.</summary>
internal sealed class StatusReporter
{
    private static readonly string? Version = typeof(StatusReporter).Assembly.GetName().Version?.ToString(3);

    private readonly Channel<bool> _changed = Channel.CreateBounded<bool>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropWrite });
    private readonly ReadingOutbox _outbox;
    private readonly GatewayClock _clock;
    private readonly ISampling _sampling;
    private readonly ServerSettings _settings;
    private readonly LinkFault _link;
    private readonly GatewayRun _run;
    private readonly HashSet<string> _probed;
    private readonly Dictionary<string, string>? _bands;
    private volatile string? _selfCheck;
    private volatile string? _panelFault;

    public StatusReporter(ReadingOutbox outbox, GatewayClock clock, ISampling sampling, ServerSettings settings, IOptions<ProbeTable> probes, LinkFault link, GatewayRun run)
    {
        _probed = [.. probes.Value.Values.Where(probe => ProbeKinds.IsSurface(probe.Kind)).Select(probe => probe.Spot).OfType<string>()];
        var bands = probes.Value.Values.Where(probe => probe is { Spot: not null, BandMicrometers: not null } && probe.Band() != InfraredBand.Wide)
            .DistinctBy(probe => probe.Spot).ToDictionary(probe => probe.Spot!, probe => probe.BandMicrometers!);
        _bands = bands.Count > 0 ? bands : null;
        (_outbox, _clock, _sampling, _settings, _link, _run) = (outbox, clock, sampling, settings, link, run);
        settings.DiskFaultChanged += Changed;
    }

    /// <summary>Something happened that should be told soon.</summary>
    public void Changed() => _changed.Writer.TryWrite(true);

    /// <summary>The service button was held: tells what the self-check found.</summary>
    public void SelfChecked(string result)
    {
        _selfCheck = result;
        Changed();
    }

    /// <summary>Lamp and button do not work, or do again (<c>null</c>).</summary>
    public void PanelFault(string? fault)
    {
        if (_panelFault == fault)
            return;
        _panelFault = fault;
        Changed();
    }

    /// <summary>Whether something is to be told soon; it counts as told.</summary>
    public bool TakeChange() => _changed.Reader.TryRead(out _);

    /// <summary>Waits until something is to be told soon.</summary>
    public async Task WaitForChangeAsync(CancellationToken cancellationToken) => await _changed.Reader.ReadAsync(cancellationToken);

    /// <summary>The report of this moment.</summary>
    public byte[] Write()
    {
        var state = _outbox.State();
        var faults = _sampling.LatestSamples
            .Where(sample => sample.Outcome is ReadOutcome.Rejected)
            .GroupBy(sample => sample.Probe)
            .ToDictionary(probe => probe.Key, probe => ((ReadOutcome.Rejected)probe.First().Outcome).Detail);
        List<string> unprobed = [.. _settings.ToMeasure.Where(spot => !_probed.Contains(spot)).Order(StringComparer.Ordinal)];
        return new GatewayReport
        {
            State = GatewayReport.Online,
            At = _clock.Now,
            Version = Version,
            Boot = _run.Id,
            Clock = _clock.Source,
            Waiting = state.Waiting + state.InMemory,
            Held = state.Held,
            PutOff = state.PutOff,
            OldestWaiting = state.OldestWaiting,
            DiskFault = state.Fault,
            Counts = state.Counts.Where(count => count.Value > 0).ToDictionary(count => count.Key.ToString(), count => count.Value),
            ProbeFaults = faults.Count > 0 ? faults : null,
            SpotsWithoutProbe = unprobed.Count > 0 ? unprobed : null,
            BandsMicrometers = _bands,
            SettingsVersion = _settings.Version,
            SettingsFault = _settings.Fault,
            SettingsDiskFault = _settings.DiskFault,
            SelfCheck = _selfCheck,
            LinkFault = _link.Now,
            PanelFault = _panelFault,
        }.Write();
    }
}
