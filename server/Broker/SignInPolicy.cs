using System.Net;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Broker;

/// <summary>What came of a name and a password.</summary>
internal enum SignInOutcome
{
    /// <summary>Refused without looking: too many were wrong.</summary>
    TooMany = 0,

    /// <summary>Name or password is wrong.</summary>
    Wrong,

    /// <summary>Right.</summary>
    Good,
}

/// <summary>Who may try a password, and how many are looked at together: a look costs some 37 ms of a processor, on purpose.</summary>
/// <remarks>
/// Wrong ones are counted for each address, and for each name at it, so that one gateway with an old password does not shut
/// out the others behind the same router. Past the free ones each further one doubles the wait, up to
/// <see cref="LongestWait"/>. What was right before, and is still, passes without a look, whatever its address did.
/// </remarks>
internal sealed class SignInPolicy(IGatewayDirectory directory, TimeProvider time) : IDisposable
{
    /// <summary>Wrong ones of a name at an address before it has to wait.</summary>
    public const int FreeOfName = 5;

    /// <summary>Wrong ones of an address, whatever the names, before it has to wait.</summary>
    public const int FreeOfAddress = 20;

    private const int MostRemembered = 10_000;

    /// <summary>The longest wait.</summary>
    public static readonly TimeSpan LongestWait = TimeSpan.FromMinutes(5);

    // One processor in two is left to the readings.
    private readonly SemaphoreSlim _looks = new(Math.Max(1, Environment.ProcessorCount / 2));
    private readonly Dictionary<(string Address, string Name), Failures> _failures = [];

    /// <summary>Judges a name and a password.</summary>
    /// <exception cref="System.Data.Common.DbException">The registry cannot be read.</exception>
    public async Task<SignInOutcome> JudgeAsync(IPAddress address, string name, string password, CancellationToken cancellationToken)
    {
        if (await directory.IsKnownGoodAsync(name, password, cancellationToken))
            return SignInOutcome.Good;
        var (whole, own) = ((Network(address), ""), (Network(address), name));
        if (MustWait(whole) || MustWait(own))
            return SignInOutcome.TooMany;
        await _looks.WaitAsync(cancellationToken);
        try
        {
            // Many may have come at once, before the first of them was found wrong.
            if (MustWait(whole) || MustWait(own))
                return SignInOutcome.TooMany;
            if (await Task.Run(async () => await directory.MaySignInAsync(name, password, cancellationToken), cancellationToken))
                return SignInOutcome.Good;
            Failed(whole, FreeOfAddress);
            Failed(own, FreeOfName);
            return SignInOutcome.Wrong;
        }
        finally
        {
            _looks.Release();
        }
    }

    public void Dispose() => _looks.Dispose();

    // Whoever has one IPv6 address has the 2^64 beside it.
    private static string Network(IPAddress address) => address switch
    {
        { IsIPv4MappedToIPv6: true } => address.MapToIPv4().ToString(),
        { AddressFamily: System.Net.Sockets.AddressFamily.InterNetworkV6 } => Convert.ToHexString(address.GetAddressBytes().AsSpan(0, 8)),
        _ => address.ToString(),
    };

    private bool MustWait((string, string) key)
    {
        lock (_failures)
            return _failures.TryGetValue(key, out var failures) && time.GetElapsedTime(failures.At) < failures.Wait;
    }

    private void Failed((string, string) key, int free)
    {
        lock (_failures)
        {
            if (_failures.Count >= MostRemembered)
                Forget();
            if (!_failures.TryGetValue(key, out var failures) || time.GetElapsedTime(failures.At) > LongestWait * 2)
                _failures[key] = failures = new Failures();
            failures.Count++;
            failures.At = time.GetTimestamp();
            failures.Wait = failures.Count < free
                ? TimeSpan.Zero
                : TimeSpan.FromSeconds(Math.Min(LongestWait.TotalSeconds, Math.Pow(2, Math.Min(failures.Count - free, 20))));
        }
    }

    // What is over goes; if that is nothing, the oldest half.
    private void Forget()
    {
        foreach (var (key, _) in _failures.OrderBy(f => f.Value.At).Take(MostRemembered / 2).ToList())
            _failures.Remove(key);
    }

    private sealed class Failures
    {
        public int Count;
        public long At;
        public TimeSpan Wait;
    }
}
