using System.Collections.Concurrent;
using System.CommandLine;
using System.Device.Gpio;
using System.Net;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Enrolment;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Enrolment;

/// <summary>The note on the card while network, server and code come and go: it is tried until it is used, and the gateway then runs by itself.</summary>
public sealed class NoteEnrolmentTests : IAsyncDisposable
{
    private const string Good = """{"gateway":"north-gate","user":"north-gate","password":"p","brokerHost":"127.0.0.1","brokerPort":1883,"caPem":"","spots":[{"id":"plaza","surface":"asphalt"}]}""";

    private readonly TemporaryFolder _folder = new();
    private readonly ConcurrentQueue<string> _said = new();
    private readonly CancellationTokenSource _ended = new();
    private readonly int _port = TestBroker.FreePort();
    private HttpListener? _listener;

    public NoteEnrolmentTests() => WriteNote("ABCD-EFGH");

    private string Note => _folder["pavementwatch.txt"];

    public async ValueTask DisposeAsync()
    {
        await _ended.CancelAsync();
        _listener?.Close();
        _ended.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task Note_is_tried_until_network_server_and_code_are_right()
    {
        var enrolment = new NoteEnrolment([Note], _folder["data"], _said.Enqueue, TimeProvider.System);
        var running = enrolment.RunAsync(_ended.Token);
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Network);

        // The server is up, but not ready; then somebody else has used the code.
        Answer(503, """{"detail":"The code is still good, but the broker is not there yet."}""");
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Server);
        Answer(409, """{"detail":"It was used at 10:02."}""");
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Code);
        Assert.Contains(_said, said => said.Contains("waits for a new code in", StringComparison.Ordinal));

        // A code that has ended is not asked for again: only another one is.
        Answer(200, Good);
        WriteNote("WXYZ-1234");

        Assert.True(await running.WaitAsync(Patience.Span, TestContext.Current.CancellationToken));
        Assert.Equal("WXYZ-1234", _asked.Last());
        Assert.True(File.Exists(_folder["data/enrolment.json"]));
        Assert.False(File.Exists(Note));
    }

    [Theory]
    [InlineData(200, "<html>sign in to this network</html>", nameof(EnrolmentObstacle.Server))]
    [InlineData(404, "<html>nginx</html>", nameof(EnrolmentObstacle.Server))]
    [InlineData(429, "", nameof(EnrolmentObstacle.Server))]
    [InlineData(502, "", nameof(EnrolmentObstacle.Server))]
    [InlineData(404, "{\"detail\":\"This code was never given out here.\"}", nameof(EnrolmentObstacle.Code))]
    [InlineData(410, "{\"detail\":\"It ended at 10:32.\"}", nameof(EnrolmentObstacle.Code))]
    [InlineData(400, "{\"detail\":\"This cannot be a code.\"}", nameof(EnrolmentObstacle.Code))]
    public async Task Answer_tells_a_code_that_has_ended_from_a_server_that_is_not_ready(int status, string body, string expected)
    {
        Answer(status, body);
        var enrolment = new NoteEnrolment([Note], _folder["data"], _said.Enqueue, TimeProvider.System);
        var running = enrolment.RunAsync(_ended.Token);

        await UntilAsync(() => enrolment.WaitsFor != EnrolmentObstacle.None);

        Assert.Equal(expected, enrolment.WaitsFor.ToString());
        Assert.True(File.Exists(Note));
        await _ended.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => running);
    }

    [Fact]
    public async Task Note_that_cannot_be_read_and_a_folder_that_takes_nothing_are_said_and_use_no_code()
    {
        Answer(200, Good);
        // A folder where the note should be and a file where the folder should be: unlike permissions, these stop the superuser too.
        await File.WriteAllTextAsync(_folder["data"], "", TestContext.Current.CancellationToken);
        await File.WriteAllTextAsync(Note, new string('x', 10_000), TestContext.Current.CancellationToken);
        var enrolment = new NoteEnrolment([Note], _folder["data"], _said.Enqueue, TimeProvider.System);
        var running = enrolment.RunAsync(_ended.Token);
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Note);

        WriteNote("ABCD-EFGH");
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Disk);
        Assert.Empty(_asked);

        File.Delete(_folder["data"]);
        Assert.True(await running.WaitAsync(Patience.Span, TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task Enrolment_typed_meanwhile_ends_the_wait_and_so_does_a_note_that_is_taken_away()
    {
        var enrolment = new NoteEnrolment([Note], _folder["data"], _said.Enqueue, TimeProvider.System);
        var running = enrolment.RunAsync(_ended.Token);
        await UntilAsync(() => enrolment.WaitsFor == EnrolmentObstacle.Network);
        Directory.CreateDirectory(_folder["data"]);
        await File.WriteAllTextAsync(_folder["data/enrolment.json"], "{}", TestContext.Current.CancellationToken);
        Assert.True(await running.WaitAsync(Patience.Span, TestContext.Current.CancellationToken));

        File.Delete(_folder["data/enrolment.json"]);
        File.Delete(Note);
        Assert.False(await new NoteEnrolment([Note], _folder["data"], _said.Enqueue, TimeProvider.System).RunAsync(_ended.Token));
    }

    [Fact]
    public async Task Run_waits_for_the_note_and_publishes_once_it_is_redeemed()
    {
        await using var broker = await TestBroker.StartAsync();
        await File.WriteAllTextAsync(
            _folder["gateway.json"], """{"Probes":{"air":{"Kind":"Ds18b20","Spot":"plaza"}},"Clock":{"Trust":"System"}}""", TestContext.Current.CancellationToken);
        var settings = new SettingsArguments();
        var root = new RootCommand
        {
            settings.File, settings.Data, settings.Simulate, EnrolCommand.Create(settings, [Note]), RunCommand.Create(settings, [Note]),
        };
        string[] common = ["--settings", _folder["gateway.json"], "--data", _folder["data"]];
        var text = new StringWriter();
        var output = TextWriter.Synchronized(text);
        bool IsSaid(string words)
        {
            lock (output)
                return text.ToString().Contains(words, StringComparison.Ordinal);
        }

        Task<int> StartAsync(params string[] words) =>
            root.Parse([.. words, .. common]).InvokeAsync(new InvocationConfiguration { Output = output, Error = output, EnableDefaultExceptionHandler = false }, _ended.Token);

        var run = StartAsync("run");
        await UntilAsync(() => IsSaid("waits for the note"));
        var enrol = StartAsync("enrol", "--wait");
        await UntilAsync(() => IsSaid("was not reached"));
        Assert.False(run.IsCompleted);
        Answer(200, Good.Replace("1883", $"{broker.Port}", StringComparison.Ordinal));

        await broker.UntilAsync(all => all.Arrivals.Any(arrival => arrival.Topic == "pavement/v1/north-gate/status"));

        Assert.Equal(0, await enrol.WaitAsync(Patience.Span, TestContext.Current.CancellationToken));
        await _ended.CancelAsync();
        Assert.Equal(0, await run.WaitAsync(Patience.Span, TestContext.Current.CancellationToken));
    }

    [Fact]
    public async Task Command_says_on_the_lamp_of_its_settings_what_it_waits_for()
    {
        await File.WriteAllTextAsync(_folder["gateway.json"], """{"Panel":{"LampPin":17}}""", TestContext.Current.CancellationToken);
        var settings = new SettingsArguments();
        var root = new RootCommand { settings.File, settings.Data, settings.Simulate, EnrolCommand.Create(settings, [Note]) };
        var time = new FakeTimeProvider(Outbox.Some.Noon);
        using var buses = new SimulatedBuses();
        var levels = new ConcurrentQueue<char>();
        buses.Pins.Written = (pin, level) => levels.Enqueue(pin != 17 ? '?' : level == PinValue.High ? '#' : '.');
        var enrol = NoteEnrolmentCommands.RedeemAsync(
            settings, root.Parse(["enrol", "--wait", "--settings", _folder["gateway.json"], "--data", _folder["data"]]), [Note], buses, time, _ended.Token);

        await UntilFlashesAsync(1, "nobody answers");
        Answer(503, """{"detail":"The code is still good, but the broker is not there yet."}""");
        await UntilFlashesAsync(3, "the server is not ready");
        Answer(409, """{"detail":"It was used at 10:02."}""");
        await UntilFlashesAsync(4, "the code is used");
        await File.WriteAllTextAsync(Note, new string('x', 10_000), TestContext.Current.CancellationToken);
        await UntilFlashesAsync(5, "the note cannot be read");

        Answer(200, Good);
        WriteNote("WXYZ-1234");
        await Patience.UntilAsync(() => enrol.IsCompleted, () => "it goes on waiting", () => time.Advance(TimeSpan.FromMilliseconds(100)));
        Assert.Equal(0, await enrol);

        // A tick at a time, each seen on the pin before the next.
        Task UntilFlashesAsync(int flashes, string why)
        {
            var (from, asked, looks) = (levels.Count, 0, 0);
            return Patience.UntilAsync(
                () => Regex.IsMatch(string.Concat(levels.Skip(from)), $@"#{{10}}\.{{6}}(##\.{{4}}){{{flashes}}}\.{{20}}#"),
                () => $"{why}: {string.Concat(levels.Skip(from))}",
                () =>
                {
                    if (levels.Count < asked && ++looks % 20 > 0)
                        return;
                    asked = levels.Count + 1;
                    time.Advance(TimeSpan.FromMilliseconds(100));
                });
        }
    }

    [Theory]
    [InlineData(0, "....................................")]
    [InlineData(1, "##########......##........................##########......##...")]
    [InlineData(4, "##########......##....##....##....##....................")]
    public async Task Lamp_says_what_is_waited_for(int flashes, string expected)
    {
        var time = new FakeTimeProvider(Outbox.Some.Noon);
        Assert.Equal(
            expected,
            string.Concat(Enumerable.Range(0, expected.Length).Select(tenth => LampPattern.OfWaiting(flashes, TimeSpan.FromMilliseconds(100 * tenth)) ? '#' : '.')));
        using var buses = new SimulatedBuses();
        // Held by another program at first.
        buses.Pins.Held.Add(17);
        var lamp = new WaitingLamp(buses, new PanelOptions { LampPin = 17 }, time).RunAsync(() => flashes, _ended.Token);
        await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, TestContext.Current.CancellationToken);
        buses.Pins.Held.Remove(17);
        await Patience.UntilAsync(
            () => flashes == 0 || buses.Pins.Level(17) == PinValue.High,
            () => "the lamp stays dark", () => time.Advance(TimeSpan.FromMilliseconds(100)));

        await _ended.CancelAsync();
        await lamp.WaitAsync(Patience.Span, TestContext.Current.CancellationToken);
    }

    private readonly ConcurrentQueue<string> _asked = new();
    private volatile Tuple<int, string> _answer = Tuple.Create(200, "");

    private void WriteNote(string code)
    {
        // Beside and renamed: nobody reads half a note.
        File.WriteAllText(Note + ".new", $"server=http://127.0.0.1:{_port}\ncode={code}\n");
        File.Move(Note + ".new", Note, overwrite: true);
    }

    /// <summary>Sets what the server answers, and starts it when it is not there yet.</summary>
    private void Answer(int status, string body)
    {
        _answer = Tuple.Create(status, body);
        if (_listener is not null)
            return;
        _listener = new HttpListener();
        _listener.Prefixes.Add($"http://127.0.0.1:{_port}/");
        _listener.Start();
        _ = Task.Run(async () =>
        {
            try
            {
                while (true)
                {
                    var context = await _listener.GetContextAsync();
                    using var reader = new StreamReader(context.Request.InputStream);
                    _asked.Enqueue((await reader.ReadToEndAsync()).Split('"')[3]);
                    var (code, text) = _answer;
                    context.Response.StatusCode = code;
                    context.Response.ContentType = "application/json";
                    await context.Response.OutputStream.WriteAsync(Encoding.UTF8.GetBytes(text));
                    context.Response.Close();
                }
            }
            catch (Exception error) when (error is HttpListenerException or ObjectDisposedException)
            {
                // The test is over.
            }
        });
    }

    private Task UntilAsync(Func<bool> reached) =>
        Patience.UntilAsync(reached, () => $"in vain; said so far: {string.Join(" | ", _said)}");
}
