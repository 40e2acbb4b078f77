using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Outbox;

namespace PavementWatch.Gateway.Checks;

/// <summary>Whether the outbox's disk takes and keeps readings, and how much room it has.</summary>
internal sealed class DiskCheck(ReadingOutbox outbox, IOptions<OutboxOptions> options) : ICheck
{
    public Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken) => Task.FromResult<IReadOnlyList<Finding>>([Look()]);

    private Finding Look()
    {
        var path = Path.GetFullPath(options.Value.Path);
        var what = $"disk {Path.GetDirectoryName(path)}";
        var state = outbox.State();
        if (state.Fault is not null)
            return new Finding(Verdict.Failed, what, state.Fault, "until then readings wait in memory and are lost with the power");
        var probe = path + ".check";
        try
        {
            using (var file = File.Create(probe))
            {
                file.Write(new byte[4096]);
                file.Flush(flushToDisk: true);
            }
            File.Delete(probe);
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return new Finding(Verdict.Failed, what, error.Message, "make the folder writable for the service's user, or replace the card");
        }
        var free = new DriveInfo(Path.GetDirectoryName(path)!).AvailableFreeSpace / 1_000_000;
        var detail = $"writable, {free} MB free, {state.Waiting + state.Held} readings wait in {state.UsedBytes / 1000} kB";
        return free < options.Value.KeepFreeMegabytes
            ? new Finding(Verdict.Doubtful, what, detail, "free some room; below Outbox:KeepFreeMegabytes the oldest readings are thinned")
            : state.Counts[OutboxCount.DamagedFile] > 0
                ? new Finding(Verdict.Doubtful, what, $"{detail}; its file was damaged {state.Counts[OutboxCount.DamagedFile]} times", "replace the card before it fails altogether")
                : new Finding(Verdict.Good, what, detail);
    }
}
