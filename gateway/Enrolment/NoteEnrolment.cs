using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Enrolment;

/// <summary>Redeems the note on the boot partition: tries until its code is used, by it or by somebody else, and takes a new note where the code has ended.</summary>
/// <param name="places">Where a note is looked for.</param>
/// <param name="folder">Where the credentials go.</param>
/// <param name="say">What it is at, told once.</param>
/// <param name="time">The clock of its pauses.</param>
internal sealed class NoteEnrolment(IReadOnlyList<string> places, string folder, Action<string> say, TimeProvider time)
{
    /// <summary>How often a note that cannot be used now is looked at: the file may be mended.</summary>
    private static readonly TimeSpan LookAgain = TimeSpan.FromSeconds(5);

    // A code lives 30 minutes: pauses stay short beside that.
    private readonly BackOff _backOff = new(TimeSpan.FromSeconds(2), TimeSpan.FromSeconds(30), new Random(Environment.ProcessId));
    private volatile string _said = "";
    private volatile EnrolmentObstacle _waitsFor;

    /// <summary>What it waits for now.</summary>
    public EnrolmentObstacle WaitsFor => _waitsFor;

    /// <summary>Tries until there are credentials, or no note any more.</summary>
    /// <returns>Whether the gateway is enrolled.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        BootFile? ended = null;
        while (true)
        {
            if (File.Exists(Path.Combine(folder, SettingsSources.EnrolmentFile)))
            {
                Say(EnrolmentObstacle.None, $"enrolled: {Path.Combine(folder, SettingsSources.EnrolmentFile)} is there");
                return true;
            }

            if (places.FirstOrDefault(File.Exists) is not { } place)
            {
                Say(EnrolmentObstacle.None, $"there is no note at {string.Join(" or ", places)}; nothing to redeem");
                return false;
            }

            var (note, fault) = BootFile.From(place);
            var pause = LookAgain;
            if (note is null || (fault = note.Fault(allowUnencrypted: false)) is not null)
                Say(EnrolmentObstacle.Note, $"{fault}; waits until the note is mended");
            else if (note == ended)
                _waitsFor = EnrolmentObstacle.Code;
            else if (EnrolmentFiles.Fault(folder) is { } full)
                Say(EnrolmentObstacle.Disk, $"{folder} takes no files ({full}); the code is not used before it does");
            else
                (ended, pause) = await TryAsync(place, note, cancellationToken) ? (null, TimeSpan.Zero) : (IsOver ? note : null, IsOver ? LookAgain : _backOff.Next());
            if (pause > TimeSpan.Zero)
                await Task.Delay(pause, time, cancellationToken);
        }
    }

    private bool IsOver => _waitsFor == EnrolmentObstacle.Code;

    /// <returns>Whether it is enrolled.</returns>
    private async Task<bool> TryAsync(string place, BootFile note, CancellationToken cancellationToken)
    {
        switch (await EnrolmentClient.EnrolAsync(note.Server, note.Code, note.Fingerprint is { Length: > 0 } given ? given : null, cancellationToken))
        {
            case EnrolmentOutcome.Enrolled(var reply):
                try
                {
                    EnrolmentFiles.Write(reply, folder);
                }
                catch (Exception error) when (error is IOException or UnauthorizedAccessException)
                {
                    Say(EnrolmentObstacle.Code, $"the server took the code, but {folder} takes no files ({error.Message}); mend that, then write a new code into {place}");
                    return false;
                }

                say($"enrolled as {reply.Gateway} for {reply.Spots.Count} spots; {BootFile.Remove(place)}");
                return true;
            case EnrolmentOutcome.Later(var wait, var reason):
                Say(wait, $"not enrolled yet: {reason}; tries again");
                return false;
            case EnrolmentOutcome.Never(var reason):
                Say(EnrolmentObstacle.Code, $"not enrolled: {reason}; waits for a new code in {place}");
                return false;
            case var unknown:
                throw new InvalidOperationException($"no such outcome: {unknown}");
        }
    }

    private void Say(EnrolmentObstacle wait, string words)
    {
        _waitsFor = wait;
        if (_said == words)
            return;
        _said = words;
        say(words);
    }
}
