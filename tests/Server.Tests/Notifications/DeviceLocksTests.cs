using PavementWatch.Server.Notifications;

namespace PavementWatch.Server.Tests.Notifications;

public sealed class DeviceLocksTests
{
    [Fact]
    public async Task What_is_asked_for_later_goes_out_later_and_no_device_waits_for_another()
    {
        var turns = new DeviceLocks();
        var first = await turns.TakeAsync(1);
        var second = turns.TakeAsync(1);
        var third = turns.TakeAsync(1);
        using (await turns.TakeAsync(2))
            Assert.False(second.IsCompleted || third.IsCompleted);

        first.Dispose();
        var held = await second;
        Assert.False(third.IsCompleted);
        held.Dispose();
        (await third).Dispose();
        (await turns.TakeAsync(1)).Dispose();
    }
}
