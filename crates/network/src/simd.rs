//! One kernel, two machines: chosen when the program runs.
//!
//! A shipped program is built for the oldest machine of its kind, so vector instructions newer than that are enabled
//! in one function only and entered after asking the processor. The kernels and all they call are `inline(always)`:
//! only then do they take on the features of that function. Wider vectors than AVX2 were measured slower here.

/// Makes a function that runs `kernel::<true>` where AVX2 and FMA are present (always on aarch64, whose base
/// includes fused multiply-add) and `kernel::<false>` elsewhere.
macro_rules! dispatched {
    ($(#[$doc:meta])* $vis:vis fn $name:ident($($arg:ident: $ty:ty),* $(,)?) $(-> $ret:ty)? = $kernel:ident) => {
        $(#[$doc])*
        #[allow(clippy::too_many_arguments)]
        $vis fn $name($($arg: $ty),*) $(-> $ret)? {
            #[cfg(target_arch = "x86_64")]
            {
                #[target_feature(enable = "avx2,fma")]
                #[allow(clippy::too_many_arguments)]
                fn fast($($arg: $ty),*) $(-> $ret)? {
                    $kernel::<true>($($arg),*)
                }
                if std::arch::is_x86_feature_detected!("avx2") && std::arch::is_x86_feature_detected!("fma") {
                    // SAFETY: both features have just been found on this processor.
                    unsafe { fast($($arg),*) }
                } else {
                    $kernel::<false>($($arg),*)
                }
            }
            #[cfg(not(target_arch = "x86_64"))]
            {
                $kernel::<{ cfg!(target_arch = "aarch64") }>($($arg),*)
            }
        }
    };
}
pub(crate) use dispatched;
