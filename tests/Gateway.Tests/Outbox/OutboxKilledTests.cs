using System.Diagnostics;
using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using System.Runtime.CompilerServices;

namespace PavementWatch.Gateway.Tests.Outbox;

/// <summary>A real process writes to the outbox and is killed at whatever it is doing.</summary>
public sealed class OutboxKilledTests : IDisposable
{
    private const string WriterMark = "PAVEMENTWATCH_TEST_OUTBOX_WRITER";

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Nothing_reported_durable_is_lost_when_the_process_is_killed()
    {
        var path = _folder["outbox.db"];
        var reported = 0;
        for (var round = 0; round < 4; round++)
        {
            using var writer = StartWriter(path, reported);
            // The kill falls after a different number of writes each time, wherever the writer then is.
            var until = reported + 20 + 37 * round;
            while (reported < until)
            {
                var line = await writer.StandardOutput.ReadLineAsync(TestContext.Current.CancellationToken);
                if (line is null)
                    Assert.Fail(await writer.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken));
                reported = int.Parse(line, CultureInfo.InvariantCulture);
            }
            writer.Kill();
            while (await writer.StandardOutput.ReadLineAsync(TestContext.Current.CancellationToken) is { } rest)
                reported = int.Parse(rest, CultureInfo.InvariantCulture);
            await writer.WaitForExitAsync(TestContext.Current.CancellationToken);

            using var outbox = Some.Open(path);
            var minutes = outbox.Minutes();
            Assert.True(minutes.Count >= reported, $"round {round}: {reported} readings were reported durable, {minutes.Count} are there");
            Assert.Equal(Enumerable.Range(1, minutes.Count), minutes);
            reported = minutes.Count;
        }
    }

    private static Process StartWriter(string path, int after)
    {
        var start = new ProcessStartInfo(Environment.ProcessPath!) { RedirectStandardOutput = true, RedirectStandardError = true };
        if (Path.GetFileNameWithoutExtension(Environment.ProcessPath) == "dotnet")
            start.ArgumentList.Add(typeof(OutboxKilledTests).Assembly.Location);
        start.Environment[WriterMark] = path;
        start.Environment[WriterMark + "_AFTER"] = after.ToString(CultureInfo.InvariantCulture);
        return Process.Start(start)!;
    }

    /// <summary>In the child process: appends reading after reading and reports each after it is durable.</summary>
    [ModuleInitializer]
    [SuppressMessage("Usage", "CA2255", Justification = "The test program starts itself as the process to be killed")]
    internal static void WriteWhenAsked()
    {
        if (Environment.GetEnvironmentVariable(WriterMark) is not { Length: > 0 } path)
            return;
        using var outbox = Some.Open(path);
        for (var n = int.Parse(Environment.GetEnvironmentVariable(WriterMark + "_AFTER")!, CultureInfo.InvariantCulture) + 1; n < 100_000; n++)
        {
            outbox.Append([Some.Reading(n)]);
            Console.Out.WriteLine(n);
            Console.Out.Flush();
        }
    }
}
