using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.Spots;
using PavementWatch.Server.Notifications.Mail;
using PavementWatch.Server.Notifications.Webhook;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications;

/// <summary>Telling walkers: whom, what, and that it arrives.</summary>
internal static class NotificationServices
{
    public static IServiceCollection AddNotifications(this IServiceCollection services)
    {
        services.AddOptions<NotificationOptions>()
            .BindConfiguration("Notifications", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<NotificationOptions>, NotificationOptionsValidator>();
        services.AddSingleton<PushHosts>();
        services.AddSingleton<VapidKeys>();
        services.AddSingleton<PushSender>();
        services.AddSingleton<PushRefusals>();
        services.AddSingleton<Subscriptions>();
        services.AddSingleton<GonePhones>();
        services.AddHostedService(provider => provider.GetRequiredService<GonePhones>());
        services.AddSingleton<IVisitorAlerts, VisitorAlertsQuery>();
        services.AddSingleton<Receipts>();
        services.AddSingleton<SiteMessages>();
        services.AddSingleton<DevicesNear>();
        services.AddSingleton<AlertNotifications>();
        services.AddSingleton<DeviceLocks>();
        services.AddSingleton<NotificationOutbox>();
        services.AddHostedService(provider => provider.GetRequiredService<NotificationOutbox>());
        services.AddSingleton<IBusinessChannel, BusinessWebhook>();
        services.AddSingleton<IBusinessChannel, BusinessMail>();
        services.AddSingleton<BusinessOutbox>();
        services.AddHostedService(provider => provider.GetRequiredService<BusinessOutbox>());
        services.AddHostedService<FaultNotices>();
        services.AddSingleton<UnseenWarnings>();
        services.AddHostedService(provider => provider.GetRequiredService<UnseenWarnings>());
        return services;
    }
}
