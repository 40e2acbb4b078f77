using System.Buffers;
using System.Net;
using System.Net.Sockets;
using System.Threading.Channels;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;
using MimeKit;
using PavementWatch.Tests;
using SmtpServer;
using SmtpServer.Authentication;
using SmtpServer.ComponentModel;
using SmtpServer.Protocol;
using SmtpServer.Storage;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>The business' own web address, on a free loopback port.</summary>
internal sealed class WebhookHost : IAsyncDisposable
{
    private readonly Channel<(IHeaderDictionary Headers, string Body)> _arrivals = Channel.CreateUnbounded<(IHeaderDictionary, string)>();
    private readonly WebApplication _app;
    private readonly Queue<int> _answers;

    private WebhookHost(int[] answers)
    {
        _answers = new(answers);
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        _app = builder.Build();
        _app.MapPost("/alerts", async (HttpRequest request) =>
        {
            using var reader = new StreamReader(request.Body);
            _arrivals.Writer.TryWrite((new HeaderDictionary(request.Headers.ToDictionary()), await reader.ReadToEndAsync()));
            return Results.StatusCode(_answers.TryDequeue(out var status) ? status : 204);
        });
    }

    public string Address => $"{_app.Urls.Single()}/alerts";

    public bool IsQuiet => _arrivals.Reader.Count == 0;

    public static async Task<WebhookHost> StartAsync(params int[] answers)
    {
        var host = new WebhookHost(answers);
        await host._app.StartAsync(TestContext.Current.CancellationToken);
        return host;
    }

    public Task<(IHeaderDictionary Headers, string Body)> NextAsync() => _arrivals.NextAsync();

    public ValueTask DisposeAsync() => _app.DisposeAsync();
}

/// <summary>A mail server on a free loopback port that keeps what it takes; it takes mail of one user only.</summary>
internal sealed class MailHost : IAsyncDisposable
{
    public const string User = "walks";
    public const string Password = "Orchard Green";

    private readonly Channel<MimeMessage> _mails = Channel.CreateUnbounded<MimeMessage>();
    private readonly CancellationTokenSource _end = new();
    private readonly Task _running;

    public MailHost()
    {
        using (var free = new TcpListener(IPAddress.Loopback, 0))
        {
            free.Start();
            Port = ((IPEndPoint)free.LocalEndpoint).Port;
        }

        var services = new ServiceProvider();
        services.Add(new Keeper(_mails.Writer));
        services.Add(new Doorman());
        _running = new SmtpServer.SmtpServer(
            new SmtpServerOptionsBuilder().ServerName("localhost")
                .Endpoint(e => e.Endpoint(new IPEndPoint(IPAddress.Loopback, Port)).AuthenticationRequired().AllowUnsecureAuthentication())
                .Build(),
            services).StartAsync(_end.Token);
    }

    public int Port { get; }

    public Task<MimeMessage> NextAsync() => _mails.NextAsync();

    public async ValueTask DisposeAsync()
    {
        await _end.CancelAsync();
        await _running;
        _end.Dispose();
    }

    private sealed class Keeper(ChannelWriter<MimeMessage> mails) : MessageStore
    {
        public override async Task<SmtpResponse> SaveAsync(
            ISessionContext context, IMessageTransaction transaction, ReadOnlySequence<byte> buffer, CancellationToken cancellationToken)
        {
            using var stream = new MemoryStream(buffer.ToArray());
            mails.TryWrite(await MimeMessage.LoadAsync(stream, cancellationToken));
            return SmtpResponse.Ok;
        }
    }

    private sealed class Doorman : UserAuthenticator
    {
        public override Task<bool> AuthenticateAsync(
            ISessionContext context, string user, string password, CancellationToken cancellationToken) =>
            Task.FromResult(user == User && password == Password);
    }
}
