using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Publishing;

/// <summary>What keeps ending the gateway's connection: for its status, and in a file beside the outbox for <c>check</c>, which is another process.</summary>
internal sealed class LinkFault(IOptions<OutboxOptions> outbox)
{
    private readonly string _file = Path.Combine(Path.GetDirectoryName(Path.GetFullPath(outbox.Value.Path))!, "link-fault.txt");
    private volatile string? _now;
    private volatile bool _begun;

    /// <summary>The fault, with the remedy; <c>null</c> without one.</summary>
    public string? Now => _now;

    /// <summary>Says what it is now.</summary>
    /// <returns>Whether that is news.</returns>
    public bool Set(string? fault)
    {
        if (_begun && _now == fault)
            return false;
        var isNews = _now != fault;
        (_now, _begun) = (fault, true);
        try
        {
            if (fault is null)
                File.Delete(_file);
            else
                File.WriteAllText(_file, fault);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            // Log and status say it all the same.
        }
        return isNews;
    }

    /// <summary>What the gateway that runs, or ran last, said of its connection.</summary>
    public string? Kept()
    {
        try
        {
            return File.Exists(_file) ? File.ReadAllText(_file) : null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return null;
        }
    }
}
