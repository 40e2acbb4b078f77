using System.Net;

namespace PavementWatch.Server.Broker;

/// <summary>Who may hold a connection: so many in all, so many of an address, and nobody for long without saying who they are.</summary>
/// <remarks>
/// A silent socket costs a stranger nothing. It ends after <see cref="BrokerOptions.ConnectPatience"/>, and where all places
/// are taken the one that has been silent longest makes room: a gateway says who it is at once.
/// </remarks>
internal sealed class ConnectionLimits(int most, int mostOfAddress)
{
    private readonly Lock _lock = new();
    private readonly Dictionary<IPAddress, int> _ofAddress = [];
    private readonly LinkedList<Place> _silent = [];
    private int _taken;

    /// <summary>Takes a place.</summary>
    /// <param name="address">Whose connection it is.</param>
    /// <param name="end">Ends the connection at once; called at most once, from any thread.</param>
    /// <returns>The place, to be disposed with the connection; or why there is none.</returns>
    public (Place? Place, string? Fault) Take(IPAddress address, Action end)
    {
        Place? madeRoom = null;
        lock (_lock)
        {
            var mine = _ofAddress.GetValueOrDefault(address);
            if (mine >= mostOfAddress)
                return (null, $"{mostOfAddress} connections of this address are open; raise Broker:MaxConnectionsPerAddress if so many gateways are behind it");
            if (_taken >= most)
            {
                if (_silent.First is not { } longest)
                    return (null, $"{most} connections are open; raise Broker:MaxConnections");
                madeRoom = longest.Value;
                Leave(madeRoom);
            }

            var place = new Place(this, address, end);
            _ofAddress[address] = _ofAddress.GetValueOrDefault(address) + 1;
            _taken++;
            place.Silence = _silent.AddLast(place);
            madeRoom?.End();
            return (place, null);
        }
    }

    private void Spoken(Place place)
    {
        lock (_lock)
        {
            if (place.Silence is { } silence)
                _silent.Remove(silence);
            place.Silence = null;
        }
    }

    private void Leave(Place place)
    {
        lock (_lock)
        {
            if (place.Left)
                return;
            place.Left = true;
            Spoken(place);
            _taken--;
            if (--_ofAddress[place.Address] == 0)
                _ofAddress.Remove(place.Address);
        }
    }

    /// <summary>One connection's place.</summary>
    internal sealed class Place(ConnectionLimits limits, IPAddress address, Action end) : IDisposable
    {
        public IPAddress Address => address;

        public LinkedListNode<Place>? Silence { get; set; }

        public bool Left { get; set; }

        public void End() => end();

        /// <summary>It has said who it is.</summary>
        public void Spoken() => limits.Spoken(this);

        public void Dispose() => limits.Leave(this);
    }
}
