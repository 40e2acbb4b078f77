using MailKit;
using MailKit.Net.Smtp;
using MailKit.Security;
using Microsoft.Extensions.Options;
using MimeKit;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications.Mail;

/// <summary>Writes to the business through its own mail server.</summary>
internal sealed class BusinessMail(IOptions<NotificationOptions> options) : IBusinessChannel
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    public string Name => "mail";

    public bool IsSet => options.Value.Business.MailHost.Length > 0;

    public async Task<SendOutcome> SendAsync(Guid id, BusinessNotice notice, CancellationToken cancellationToken)
    {
        var settings = options.Value.Business;
        using var message = new MimeMessage();
        message.From.Add(MailboxAddress.Parse(settings.MailFrom));
        message.To.AddRange(settings.Receivers.Select(MailboxAddress.Parse));
        message.Subject = notice.Subject;
        message.Importance = MessageImportance.High;
        message.MessageId = $"{id}@{message.From.Mailboxes.Single().Domain}";
        message.Body = new TextPart { Text = notice.Body };
        try
        {
            using var client = new SmtpClient { Timeout = (int)Patience.TotalMilliseconds };
            await client.ConnectAsync(settings.MailHost, settings.MailPort, settings.MailEncryption switch
            {
                MailEncryption.Tls => SecureSocketOptions.SslOnConnect,
                MailEncryption.None => SecureSocketOptions.None,
                _ => SecureSocketOptions.StartTls,
            }, cancellationToken);
            if (settings.MailUser.Length > 0)
            {
                var password = await File.ReadAllTextAsync(settings.MailPasswordFile, cancellationToken);
                await client.AuthenticateAsync(settings.MailUser, password.Trim(), cancellationToken);
            }

            await client.SendAsync(message, cancellationToken);
            await client.DisconnectAsync(quit: true, cancellationToken);
            return new SendOutcome.Taken();
        }
        catch (SmtpCommandException e)
        {
            // Without the server's own words: they often repeat the receiver's address.
            var detail = $"the mail server answered {(int)e.StatusCode} ({e.ErrorCode})";
            return (int)e.StatusCode >= 500 ? new SendOutcome.Refused(detail) : new SendOutcome.TryLater(detail, null);
        }
        catch (SslHandshakeException e)
        {
            return new SendOutcome.TryLater($"no encrypted way to {settings.MailHost}: {e.Message.Split('\n')[0].Trim()}", null);
        }
        catch (AuthenticationException)
        {
            return new SendOutcome.TryLater("the mail server does not know Notifications:Business:MailUser with this password", null);
        }
        catch (Exception e) when (e is CommandException or ProtocolException or IOException or UnauthorizedAccessException
            or System.Net.Sockets.SocketException or NotSupportedException or TimeoutException)
        {
            return new SendOutcome.TryLater(e.Message, null);
        }
        catch (OperationCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            return new SendOutcome.TryLater($"no answer within {Patience.TotalSeconds} s", null);
        }
    }
}
